import type { WatchStep } from "../../api/shapes";
import type { Call } from "./sound.svelte";
import type { Stopping } from "./watching.svelte";
import { stateOf, stateWords } from "./words";

// Heard is what the page has heard of the watch.
export interface Heard {
  running: boolean; // a watch runs in this server
  step: WatchStep | null; // what is known now
  waiting: boolean; // too early for silence to mean something
  away: boolean; // the page lets others have its connection, and hears nothing
  stopping: Stopping; // a stop that was pressed here
}

// headline says in the words of the place Watch what must be seen in every place; nothing while there is room or no watch.
export function headline(h: Heard): string {
  if (!h.running) return "";
  if (h.stopping === "failing" || h.stopping === "failed") return "The stop has not reached Legroom: use the mount's own stop, or cut its power";
  const state = stateOf(h.step);
  if (state === "watching" || state === "moving") return "";
  if (state === "stale" && (h.waiting || h.away)) return "";
  return stateWords[state];
}

// callOf is the sound that calls the owner. An alarm that was acknowledged is silent.
export function callOf(step: WatchStep | null, lost: boolean, stopping: Stopping): Call {
  if (stopping === "failing" || stopping === "failed") return "alarm";
  if (lost) return "lost";
  const loud = (step?.alarms ?? []).filter((a) => !a.acknowledged);
  if (loud.some((a) => a.level === "alarm")) return "alarm";
  return loud.some((a) => a.level === "warning") && !step?.snoozed_until ? "warning" : "none";
}
