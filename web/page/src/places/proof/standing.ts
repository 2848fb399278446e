import type { WatchStep } from "../../api/shapes";
import { motionOf, reasonWords } from "../watch/words";

// Where the watch says that the mount stands, set against a step of the walk.

export interface Axes {
  ra: number; // degrees
  dec: number;
}

export interface Standing {
  at: Axes; // by whole turns as the step has it
  off: Axes; // from the step
}

// far is the most that an axis may be off, degrees, as on the command line: beyond it the mount stands at another pose.
export const far = 3;

// blind states that only say that nobody has looked yet: where the tube points is known all the same.
const unseen = new Set(["reference", "setup"]);

// standing is null while nothing is known. A side that was looked at, or followed since, counts; otherwise the mount says only where the
// tube points, and the side is taken to be the step's.
export function standing(w: Pick<WatchStep, "sample" | "sides"> | null, step: { side: "west" | "east"; ra_axis_deg: number; dec_axis_deg: number }): Standing | null {
  const c = w?.sample;
  if (!c || !w.sides) return null;
  const known = c.side_known_by === "confirmed" || c.side_known_by === "followed";
  const g = w.sides[known && (c.side === "west" || c.side === "east") ? c.side : step.side];
  const near = (x: number, to: number) => x + 360 * Math.round((to - x) / 360);
  const at = { ra: near(g.ra_axis_deg, step.ra_axis_deg), dec: near(g.dec_axis_deg, step.dec_axis_deg) };
  return { at, off: { ra: at.ra - step.ra_axis_deg, dec: at.dec - step.dec_axis_deg } };
}

// unfit says why no reading counts for where the mount stands now; nothing when one does.
export function unfit(w: WatchStep | null): string {
  const c = w?.sample;
  if (!w || !c) return "The watch gives no reading of the mount.";
  const blind = w.blind.find((b) => !unseen.has(b));
  if (blind !== undefined) return `${reasonWords[blind] ?? blind}.`;
  if (c.motion === "still") return "";
  return `The mount ${motionOf(c)}: measure with tracking off, when it stands still.`;
}

export const isFar = (s: Standing) => Math.abs(s.off.ra) > far || Math.abs(s.off.dec) > far;
