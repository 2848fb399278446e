import type { Solved, SolvePoint } from "../../api/shapes";
import { plain, showFigure } from "../../ui/figure";

type Doc = Solved["doc"];

const thin = "\u202f";
// A certificate claims no more than is proven.
const up = (x: number, digits: number) => showFigure(Math.ceil(x * 10 ** digits - 1e-9) / 10 ** digits, digits);
const down = (x: number, digits: number) => showFigure(Math.floor(x * 10 ** digits + 1e-9) / 10 ** digits, digits);

// found writes a value that the solver found as it was proven, in all the figures that it has: rounded it might miss the aim.
export const found = (x: number) => plain(x, 6);

// aimWords says an aim as a person would: `past=20 above 30`, `no-idle`.
export function aimWords(aim: string): string {
  const [, kind = aim, minutes = "", above = ""] = /^(most-room|least-idle|no-idle|past)(?:=(\S+))?(?: above (\S+))?$/.exec(aim) ?? [];
  const words: Record<string, string> = {
    "most-room": "as much of the sky with room as can be",
    "least-idle": "as little idle time as can be",
    "no-idle": "no idle time",
    past: `side west tracks ${minutes}${thin}min past the meridian, without idle time`,
  };
  return (words[kind] ?? kind) + (above === "" ? "" : `, for what culminates above ${above}°`);
}

// tradeOff gives what the first variable takes along the trade-off (of a riser its height, of anything else how far it is moved), and for each
// the least that was found up to there, what is proven, and the best where it lies; of the sky, when the aim is room, what has room.
export function tradeOff(d: Pick<Doc, "front" | "miss_unit">): { x: number[]; least: number[]; proven: number[]; best: (number | null)[] } {
  const out: ReturnType<typeof tradeOff> = { x: [], least: [], proven: [], best: [] };
  const shown = (miss: number) => (d.miss_unit === "percent" ? 100 - miss : miss);
  let least = Infinity;
  for (const { first_takes, point, miss_at_least, best } of d.front) {
    if (point.miss === null) continue;
    least = Math.min(least, point.miss);
    out.x.push(first_takes);
    out.least.push(shown(least));
    out.proven.push(shown(miss_at_least));
    out.best.push(best ? shown(point.miss) : null);
  }
  return out;
}

// missWords says what a rig leaves of the aim.
export function missWords(d: Pick<Doc, "miss_unit" | "certificate">, p: SolvePoint): string {
  if (p.miss === null) return "cannot be";
  if (d.certificate.of === "price" && p.meets) return "meets it, proven";
  if (d.miss_unit === "percent") return `has room in ${showFigure(100 - p.miss, 1)}${thin}% of the sky`;
  return d.certificate.of === "price" ? `misses it by ${showFigure(p.miss, 1)}${thin}min in the mean` : `has ${showFigure(p.miss, 1)}${thin}min of idle time in the mean`;
}

// certified says how far the best can be from the optimum.
export function certified(d: Pick<Doc, "miss_unit" | "certificate" | "best">): string {
  const c = d.certificate;
  if (c.impossible) return "Proven: nothing within these bounds meets the aim.";
  if (c.bound === null) return "How far this is from the best there is could not be proven; a polar axis off the pole is one reason.";
  const done = c.done ? "" : " It stopped at the end of its work: narrower bounds would bring it closer.";
  if (c.of === "price") {
    if (!d.best || c.off === null) return `Proven: nothing within these bounds meets it for less than the price of ${down(c.bound, 1)}${thin}mm of riser.${done}`;
    return `Proven: nothing within these bounds meets it for less by more than the price of ${up(c.off, 1)}${thin}mm of riser.${done}`;
  }
  const unit = d.miss_unit === "percent" ? `${thin}% of the sky` : `${thin}min`;
  if (!d.best || c.off === null) return `Proven: nothing within these bounds comes below ${down(c.bound, 1)}${unit}.${done}`;
  return `Proven: nothing within these bounds is better by more than ${up(c.off, 2)}${unit}.${done}`;
}
