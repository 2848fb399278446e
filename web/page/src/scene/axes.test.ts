import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import type { HeadDoc, Pose } from "../api/shapes";
import { Head } from "./axes";
import { matrix } from "./shapes";

// What the server's package axes says of the last arm part and the last tube part at four poses of three rigs, one with its head
// off the pole and its axes' zeros out: answers of /api/read and /api/pose for the examples.
interface Rig {
  name: string;
  head: HeadDoc;
  crossing_mm: number[];
  poses: (Pose & { ra_axis_deg: number; dec_axis_deg: number; arm: number[]; tube: number[] })[];
}

const rigs = JSON.parse(readFileSync("src/scene/testdata/places.json", "utf8")) as Rig[];
const rounding = 1e-6; // mm; the answers are rounded no coarser

function apart(a: number[], b: number[]): number {
  return Math.max(...a.map((x, i) => Math.abs(x - (b[i] ?? NaN))));
}

for (const r of rigs) {
  const head = new Head(r.head, r.crossing_mm);

  test(`${r.name}: axis angles of a pose as the server has them`, () => {
    for (const p of r.poses) {
      const g = head.angles(p);
      assert.ok(Math.abs((g.ra * 180) / Math.PI - p.ra_axis_deg) < rounding, `RA axis at ${p.side} ${String(p.hourAngleH)} h`);
      assert.ok(Math.abs((g.dec * 180) / Math.PI - p.dec_axis_deg) < rounding, `declination axis at ${p.side} ${String(p.hourAngleH)} h`);
    }
  });

  test(`${r.name}: a part moved on from any pose to any other stands where the server has it`, () => {
    for (const from of r.poses) {
      for (const to of r.poses) {
        const [was, now] = [head.angles(from), head.angles(to)];
        const arm = head.arm(now).multiply(head.arm(was).invert()).multiply(matrix(from.arm));
        const tube = head.tube(now).multiply(head.tube(was).invert()).multiply(matrix(from.tube));
        assert.ok(apart(arm.elements, matrix(to.arm).elements) < rounding, "arm");
        assert.ok(apart(tube.elements, matrix(to.tube).elements) < rounding, "tube");
      }
    }
  });
}
