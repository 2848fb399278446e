import { BoxGeometry, type BufferGeometry, CapsuleGeometry, CylinderGeometry, Matrix4, SphereGeometry } from "three";

import type { PartDoc } from "../api/shapes";

const round = 40; // segments of a circle

// geometry of a part in its own frame, mm, grown by so much on every side (for outlines). three.js turns its solids about y, the
// document about z.
export function geometry(part: Pick<PartDoc, "shape" | "size_mm">, grow = 0): BufferGeometry {
  const size = (i: number) => (part.size_mm[i] ?? 0);
  const d = (i: number) => Math.max(size(i) + 2 * grow, 0);
  switch (part.shape) {
    case "box":
      return new BoxGeometry(d(0), d(1), d(2));
    case "cylinder":
      return upright(new CylinderGeometry(d(0) / 2, d(0) / 2, d(1), round));
    case "cone":
      return upright(new CylinderGeometry(d(1) / 2, d(0) / 2, d(2), round));
    case "capsule":
      return upright(new CapsuleGeometry(d(0) / 2, size(1), round / 4, round));
    case "sphere":
      return new SphereGeometry(d(0) / 2, round, round / 2);
  }
}

function upright(g: BufferGeometry): BufferGeometry {
  return g.rotateX(Math.PI / 2);
}

// matrix of a 3×4 place, row by row.
export function matrix(place: number[]): Matrix4 {
  const [a, b, c, x, d, e, f, y, g, h, i, z] = place as [
    number, number, number, number, number, number, number, number, number, number, number, number,
  ];
  return new Matrix4().set(a, b, c, x, d, e, f, y, g, h, i, z, 0, 0, 0, 1);
}
