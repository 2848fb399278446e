import type { WatchStep } from "../../api/shapes";
import { provenWords } from "../../scene/gap";
import { hourAngle, showFigure } from "../../ui/figure";

// What the watch says, in words. Figures are rounded to the side that takes room and time away.

// A Figure is set large: a number, or a word where there is none, and its unit.
export interface Figure {
  big: string;
  unit: string;
  said: string; // for screen readers and the table
}

// State is how it stands, the gravest that is true.
export type State = "stale" | "disobeyed" | "stopping" | "blind" | "stopped" | "warned" | "moving" | "watching";

// stateOf gives null for a state that nothing is known of: it is stale.
export function stateOf(s: WatchStep | null): State {
  if (!s) return "stale";
  if (s.rung === "hooked") return "disobeyed";
  if (s.rung === "stopping") return "stopping";
  if (s.blind.length > 0) return "blind";
  if (s.rung === "stopped") return "stopped";
  if (s.rung === "warned") return "warned";
  if (s.sample?.motion === "moving") return "moving";
  return "watching";
}

export const stateWords: Record<State, string> = {
  stale: "No status: it is not known whether it is safe",
  disobeyed: "The mount does not obey: cut its power",
  stopping: "Stopping the mount",
  blind: "Blind: it is not known where the parts are",
  stopped: "Stopped: the axes stand still",
  warned: "A stop is due soon",
  moving: "The mount is slewing",
  watching: "Room enough",
};

// reasonWords names each way of being blind; why it is so now, the watch says itself.
export const reasonWords: Record<string, string> = {
  link: "No link to the mount",
  answer: "An answer that cannot be used",
  old: "Old data",
  frozen: "The mount's clock stands still",
  clock: "Clocks disagree",
  site: "Another site is set",
  place: "The place cannot be",
  equinox: "Unknown equinox",
  side: "The side cannot be",
  jump: "The place jumped",
  reference: "Nobody has looked yet",
  setup: "Set-up not confirmed",
  fingerprint: "The rig has changed",
};

// howWords says what a side was known by.
export const howWords: Record<string, string> = {
  confirmed: "you looked",
  followed: "followed since you looked",
  told: "the mount says so, and that is all",
  unknown: "not known: both sides have to be free",
};

// leftFigure is the time until a stop is due. While blind, or once a stop is under way, there is none.
export function leftFigure(s: WatchStep | null): Figure {
  const word = (big: string, said: string): Figure => ({ big, unit: "", said });
  switch (stateOf(s)) {
    case "stale":
      return word("?", "not known");
    case "blind":
      return word("blind", "not known: blind");
    case "disobeyed":
      return word("cut power", "the mount does not obey");
    case "stopping":
      return word("stopping", "being stopped");
    case "stopped":
      return word("stopped", "stopped");
  }
  if (s?.time_left_s !== null && s !== null) return duration(s.time_left_s);
  if (s?.no_end) return s.sample?.motion === "still" ? word("still", "the mount stands still") : word("no end", "nothing ends this run");
  return s?.sample?.motion === "moving" ? word("slewing", "not told during a slew") : word("?", "not known");
}

// duration rounds down: hours and minutes, minutes, and seconds below three minutes.
export function duration(seconds: number): Figure {
  const s = Math.max(0, Math.floor(seconds));
  const min = Math.floor(s / 60);
  if (s < 180) return { big: String(s), unit: "s", said: `${String(s)} seconds` };
  if (min < 100) return { big: String(min), unit: "min", said: `${String(min)} minutes` };
  const [h, m] = [Math.floor(min / 60), String(min % 60).padStart(2, "0")];
  return { big: `${String(h)}:${m}`, unit: "h", said: `${String(h)} hours ${String(min % 60)} minutes` };
}

// lowerOf is the gap that is proven where the axes were last seen, mm. Of a blind watch there is none.
const lowerOf = (s: WatchStep | null): number | null => (s && s.blind.length === 0 ? (s.sample?.gap_lower_mm ?? null) : null);

// gapFigure is that gap as a figure.
export function gapFigure(s: WatchStep | null): Figure {
  const mm = lowerOf(s);
  if (mm === null) return { big: "?", unit: "", said: "not known" };
  const floor = Math.floor(mm);
  if (floor < 0) return { big: showFigure(floor), unit: "mm", said: provenWords(mm) };
  return { big: showFigure(floor), unit: "mm", said: `at least ${String(floor)} millimetres` };
}

// zoneWords says at which gap a stop is due. A slew that goes on below that does so because each pose that it can reach before it stands
// still is proven free, or the whole slew was.
export function zoneWords(s: WatchStep): string {
  const [zone, mm] = [s.sample?.zone_mm ?? null, lowerOf(s)];
  if (zone === null || mm === null) return "";
  if (mm > zone || stateOf(s) !== "moving") return `a stop is due at ${showFigure(Math.ceil(zone))}\u202fmm`;
  return s.proven_path ? "this slew was proven beforehand" : "what it can reach before it would stand still is proven free";
}

// limitWords says what limits, and where.
export function limitWords(s: WatchStep): string {
  const [c, mm] = [s.sample, lowerOf(s)];
  if (s.blind.length > 0) return "What room there was when it went blind may be gone.";
  if (!c || mm === null) return "No reading of the mount can be used yet.";
  const zone = zoneWords(s);
  return `${c.a} to ${c.b}: ${provenWords(mm)}${zone && `; ${zone}`}.`;
}

// poseWords says where the rig stands, and what the side is known by.
export function poseWords(s: WatchStep): string {
  const c = s.sample;
  if (!c) return "";
  const side = c.side === "unknown" ? "Side" : `Side ${c.side}`;
  return `${side} (${howWords[c.side_known_by] ?? c.side_known_by}), hour angle ${hourAngle(c.hour_angle_h)}, declination ${showFigure(c.dec_deg, 1)}°.`;
}

// motionOf says what the mount does. A mount that says that it is parked, or does not track, is not told to track.
export function motionOf(c: NonNullable<WatchStep["sample"]>): string {
  let does = motionWords[c.motion] ?? c.motion;
  if (c.motion === "tracking" && c.tracking === "no") does = "is not seen to stand still yet";
  else if (c.motion === "tracking" && c.parked === "yes") does = "is said to track";
  return c.parked === "yes" ? `is parked, and ${does}` : does;
}

const motionWords: Record<string, string> = { still: "stands still", tracking: "tracks", moving: "is slewing", unknown: "is not known to stand" };

const steps = [3600, 1800, 900, 600, 300, 120, 60, 30, 10];

// spoken is what a screen reader is told when it changes: the state, and time left in steps, not each second.
export function spoken(s: WatchStep | null): string {
  const state = stateOf(s);
  const parts = [stateWords[state] + "."];
  if (s && state === "blind") parts.push(s.blind.map((r) => reasonWords[r] ?? r).join(", ") + ".");
  if (s && s.time_left_s !== null && (state === "watching" || state === "warned")) {
    const left = s.time_left_s;
    const below = steps.filter((x) => left < x).at(-1);
    if (below !== undefined) parts.push(`Less than ${below < 120 ? `${String(below)} seconds` : `${String(below / 60)} minutes`} left.`);
    else parts.push("More than an hour left.");
  }
  return parts.join(" ");
}
