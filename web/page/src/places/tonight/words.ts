import type { AdviceDoc, BlockDoc, MoveDoc, NightDoc, TargetPlan } from "../../api/shapes";
import { showFigure } from "../../ui/figure";
import { type Clock, down, length, near, up } from "./clock";

// The night in words.

export function sunWords(n: NightDoc, c: Clock): string {
  const out: string[] = [];
  if (n.sun === "never_sets") out.push("polar day: it does not set");
  if (n.sun === "never_rises") out.push("polar night: it does not rise");
  if (n.sunset !== null) out.push(`sets ${c.both(near(n.sunset))}`);
  const below = `below ${showFigure(n.dark_below_deg, 1).replace(/\.0$/, "")}°`;
  if (n.dark === "never") out.push(`never ${below}: it does not get dark`);
  else if (n.dark === "from_noon_to_noon") out.push(`dark (${below}) from noon to noon`);
  else {
    if (n.dark_from !== null) out.push(`dark (${below}) from ${c.both(up(n.dark_from))}`);
    if (n.dark_to !== null) out.push(`dark until ${c.both(down(n.dark_to))}`);
  }
  if (n.sunrise !== null) out.push(`rises ${c.both(near(n.sunrise))}`);
  return out.join(", ");
}

export function moonWords(n: NightDoc, c: Clock): string {
  const { rise, set, up: stretches, lit } = n.moon;
  const share = `${String(Math.round(lit * 100))} % lit`;
  if (stretches.length === 0) return `${share}, below the horizon from noon to noon`;
  const events = [
    { when: rise, does: "rises" },
    { when: set, does: "sets" },
  ].flatMap(({ when, does }) => (when === null ? [] : [{ ms: near(when), does }]));
  if (events.length === 0) return `${share}, up from noon to noon`;
  events.sort((a, b) => a.ms - b.ms);
  return [share, ...events.map((e) => `${e.does} ${c.both(e.ms)}`)].join(", ");
}

export const subs = (count: number, s: number): string => `${String(count)} × ${showFigure(s, 1).replace(/\.0$/, "")} s`;

export const sideWords = (b: BlockDoc): string => (b.either ? "west or east" : b.side);

export function moveWords(m: MoveDoc, c: Clock): string {
  const way = [m.from && `from ${m.from}`, m.via && `by way of ${m.via}`].filter((s) => s).join(" ");
  return `${m.flip ? "flip" : "slew"} at ${c.at(down(m.begin))}${way ? ` ${way}` : ""}, there by ${c.at(up(m.end))}`;
}

// stopWords says when a run on side west ends, and why.
export function stopWords(t: TargetPlan, c: Clock): string {
  if (t.stop !== null) return `${c.at(down(t.stop))}${t.stop_parts.length === 2 ? `, ${t.stop_parts.join(" – ")}` : ` (${t.stop_reason})`}`;
  if (t.stop_reason === "never_usable") return "never usable";
  return t.stop_reason === "horizon" ? "none (sets first)" : "none tonight";
}

export function resumeWords(t: TargetPlan, c: Clock): string {
  if (t.resume !== null) return `${c.at(up(t.resume))}${t.resume_parts.length === 2 ? `, ${t.resume_parts.join(" – ")}` : ""}`;
  return t.resume_reason === "never_usable" ? "never usable" : "at once";
}

export function flipWords(t: TargetPlan, c: Clock): string {
  const windows = c.spans(t.flip_windows);
  if (windows !== "–") return windows;
  return t.idle_min > 0 ? `none: idle ${length(Math.ceil(t.idle_min))}` : "none";
}

export const signedMin = (v: number): string => `${v > 0 ? "+" : ""}${showFigure(v)} min`;

// enter says what an owner enters, minutes from the meridian.
export function enter(a: AdviceDoc): { stop: string; flip: string } {
  const stop = a.stop_min === null ? "nothing stops it" : signedMin(a.stop_min);
  switch (a.kind) {
    case "flip":
      if (a.flip_from_min === null) break;
      return { stop, flip: a.flip_until_min === null ? `from ${signedMin(a.flip_from_min)}` : `${signedMin(a.flip_from_min)} to ${signedMin(a.flip_until_min)}` };
    case "no_flip_proven":
      return { stop, flip: "none is proven: waypoints, or by hand and eye" };
    case "no_flip_needed":
      return { stop: "ends when too low", flip: a.text };
    case "west_only":
      return { stop, flip: a.text };
    case "east_only":
    case "nothing":
  }
  return { stop: "–", flip: a.text };
}

// describe says in words what the picture shows.
export function describe(n: NightDoc, c: Clock): string {
  const plan = n.schedule.map((b) => `${c.span([b.from, b.to])} ${b.target}, side ${sideWords(b)}`).join("; ");
  const targets = n.targets.map((t) => `${t.name}: ${t.sub_count > 0 ? c.spans(t.usable) : t.why_not}`).join("; ");
  return `The night of ${n.night}: time from left to right, altitude upwards, below it a row for each target. ${targets}. Schedule: ${plan || "nothing"}. The tables below say the same in figures.`;
}
