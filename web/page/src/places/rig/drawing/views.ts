import { bearing, up, type Model, type Solid } from "./solids";
import type { Guide, Mark, View } from "./sheet";
import { add, scale, type Vec } from "./vec";

/** What one measure is: its view, its mark, and the same in words. */
export interface Measure {
  readonly view: View;
  readonly of: string;
  readonly mark: Mark;
  /** From where to where, one sentence. */
  readonly text: string;
  readonly guides?: readonly Guide[];
  readonly ghosts?: readonly Solid[];
  /** Prefixes of the parts to show; all of them when left out. */
  readonly show?: readonly string[];
  /** The angle or offset is drawn larger than it is. */
  readonly enlarged?: boolean;
}

/** Makes the measure at a path that a pattern matched; nothing when the rig has no such part. */
export type Maker = (m: Model, match: RegExpExecArray) => Measure | undefined;
export type Table = readonly (readonly [RegExp, Maker])[];

/** Level view with an azimuth to the right. */
export const level = (right: number, seen = "from the side"): View => ({ right: bearing(right), up, seen });

/** The rig from the side, towards the elevated pole to the right. */
export const elevation = (m: Model): View => level(m.poleBearing, "from the side, the elevated pole to the right");

/** From above, north up. */
export const plan: View = { right: [1, 0, 0], up: [0, 1, 0], seen: "from above, north up" };

/** Head and tube from the side, the polar axis level: the pole and the tube's front to the right, the tube above. */
export const side = (m: Model): View => ({ right: m.z, up: m.x, seen: "from the side, the front of the tube to the right" });

/** Head and tube along the polar axis, from the tube's back end. */
export const end = (m: Model): View => ({ right: m.y, up: m.x, seen: "along the tube, from its back end" });

/** Head and tube from above the tube, its front to the right. */
export const above = (m: Model): View => ({ right: m.z, up: scale(-1, m.y), seen: "from above the tube, its front to the right" });

export const distance = (from: Vec, to: Vec, on: 1 | -1 = 1, along?: Vec): Mark => ({ kind: "distance", from, to, side: on, along });
export const mass = (at: Vec): Mark => ({ kind: "mass", at });

/** A dash-and-dot line through a point, so far to both sides. */
export const axis = (at: Vec, along: Vec, before: number, after = before): Guide => ({
  kind: "axis",
  from: add(at, scale(-before, along)),
  to: add(at, scale(after, along)),
});

/** The ground, as wide as what stands on it. */
export function ground(m: Model, azimuth: number): Guide {
  const half = 1.15 * Math.max(m.n("support.legs.foot_radius_mm"), m.n("support.diameter_mm") * 1.5, 300);
  return { kind: "ground", from: scale(-half, bearing(azimuth)), to: scale(half, bearing(azimuth)) };
}

/** The polar axis, the declination axis and the tube's, as the view from the side shows them. */
export function axes(m: Model): Guide[] {
  const tube = m.tubeAt(0, 0, 0);
  return [axis(m.crossing, m.z, 260, 120), axis(m.crossing, m.x, 140, m.saddle + m.axisDistance + 60), axis(tube, m.z, 330)];
}

/** The middle of the saddle's clamping face, from which stations count. */
export const station = (m: Model): Guide => {
  const at = m.home(m.saddle, 0, 0);
  return { kind: "station", from: at, to: at };
};
