import { Vector3 } from "three";

import type { PartDoc } from "../api/shapes";
import type { Angles, Head } from "./axes";
import { geometry, matrix } from "./shapes";

// Outlines of a rig as seen from one side, in millimetres: x to the right, y down. Parts are convex, so each outline is the hull of
// its corners.
export interface Outline {
  name: string;
  frame: PartDoc["frame"];
  points: [number, number][];
  depth: number; // of its middle, towards the eye
}

// Seen looks level from an azimuth, degrees from north.
export class Seen {
  readonly right: Vector3;
  readonly eye: Vector3;

  constructor(azimuth: number) {
    const a = (azimuth * Math.PI) / 180;
    this.eye = new Vector3(Math.sin(a), Math.cos(a), 0);
    this.right = new Vector3(-Math.cos(a), Math.sin(a), 0);
  }

  onto(v: Vector3): [number, number] {
    return [v.dot(this.right), -v.z];
  }

  // rig gives the outlines of parts whose answer was of the axes at was, as they stand at now, the farthest first.
  rig(parts: readonly PartDoc[], head: Head, was: Angles, now: Angles): Outline[] {
    const arm = head.arm(now).multiply(head.arm(was).invert());
    const tube = head.tube(now).multiply(head.tube(was).invert());
    const out = parts.map((p): Outline => {
      const at = matrix(p.place);
      if (p.frame === "arm") at.premultiply(arm);
      if (p.frame === "tube") at.premultiply(tube);
      const g = geometry(p);
      const corners = g.getAttribute("position");
      const points: [number, number][] = [];
      const v = new Vector3();
      for (let i = 0; i < corners.count; i++) points.push(this.onto(v.fromBufferAttribute(corners, i).applyMatrix4(at)));
      g.dispose();
      return { name: p.name, frame: p.frame, points: hull(points), depth: new Vector3().setFromMatrixPosition(at).dot(this.eye) };
    });
    return out.sort((a, b) => a.depth - b.depth);
  }
}

// across is the azimuth from which a line between two points shows at its full length, or nearly.
export function across(a: Vector3, b: Vector3): number {
  const [x, y] = [b.x - a.x, b.y - a.y];
  return Math.hypot(x, y) < 1e-9 ? 180 : (Math.atan2(y, -x) * 180) / Math.PI;
}

// hull is the convex hull of points: Andrew's monotone chain, in order, without points on its edges.
export function hull(points: [number, number][]): [number, number][] {
  const p = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: [number, number][]) => {
    const out: [number, number][] = [];
    for (const q of list) {
      for (;;) {
        const [a, b] = [out.at(-2), out.at(-1)];
        if (!a || !b || (b[0] - a[0]) * (q[1] - a[1]) - (b[1] - a[1]) * (q[0] - a[0]) > 1e-6) break;
        out.pop();
      }
      out.push(q);
    }
    return out.slice(0, -1);
  };
  return [...half(p), ...half(p.reverse())];
}
