import { BufferGeometry, CircleGeometry, Group, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, Vector3 } from "three";

import type { Palette } from "./palette";

const radius = 1500; // mm

// Ground is the floor: a disc with a ring each half metre, a tick each ten degrees of azimuth, longer at each thirty.
export class Ground {
  readonly group = new Group();
  readonly radius = radius;
  #disc = new Mesh(
    new CircleGeometry(radius, 96),
    new MeshBasicMaterial({ transparent: true, opacity: 0.55, polygonOffset: true, polygonOffsetFactor: 4, polygonOffsetUnits: 4 }),
  );
  #lines = new LineSegments(new BufferGeometry().setFromPoints(marks()), new LineBasicMaterial());

  constructor(colors: Palette) {
    this.group.add(this.#disc, this.#lines);
    this.#disc.renderOrder = -1;
    this.recolor(colors);
  }

  recolor(colors: Palette) {
    this.#disc.material.color.set(colors.ground);
    this.#lines.material.color.set(colors.line);
  }

  dispose() {
    this.#disc.geometry.dispose();
    this.#disc.material.dispose();
    this.#lines.geometry.dispose();
    this.#lines.material.dispose();
  }
}

function on(azimuth: number, r: number): Vector3 {
  const a = (azimuth * Math.PI) / 180;
  return new Vector3(r * Math.sin(a), r * Math.cos(a), 0);
}

function marks(): Vector3[] {
  const out: Vector3[] = [];
  for (let r = 500; r <= radius; r += 500) {
    for (let a = 0; a < 360; a += 3) out.push(on(a, r), on(a + 3, r));
  }
  for (let a = 0; a < 360; a += 10) out.push(on(a, radius), on(a, radius + (a % 30 === 0 ? 90 : 40)));
  for (let a = 0; a < 360; a += 90) out.push(on(a, 0), on(a, radius));
  return out;
}
