import assert from "node:assert/strict";
import { test } from "node:test";
import { Vector3 } from "three";

import { across, hull, Seen } from "./outline";

test("a hull keeps the corners alone", () => {
  const h = hull([[0, 0], [2, 0], [1, 0], [2, 2], [1, 1], [0, 2], [0, 1], [0, 0]]);
  assert.deepEqual(new Set(h.map(String)), new Set(["0,0", "2,0", "2,2", "0,2"]));
});

test("a line is looked at from across it, and keeps its length", () => {
  for (const [x, y, z] of [[100, 0, 0], [30, -40, 20], [0, 0, 70], [-5, 60, -10]] as const) {
    const [a, b] = [new Vector3(1, 2, 3), new Vector3(1 + x, 2 + y, 3 + z)];
    const s = new Seen(across(a, b));
    const [p, q] = [s.onto(a), s.onto(b)];
    assert.ok(Math.abs(Math.hypot(p[0] - q[0], p[1] - q[1]) - Math.hypot(x, y, z)) < 1e-9, `${String(x)} ${String(y)} ${String(z)}`);
  }
});

// From south, east is to the right; from north, to the left.
test("right and left", () => {
  assert.ok(new Seen(180).onto(new Vector3(1, 0, 0))[0] > 0.999);
  assert.ok(new Seen(0).onto(new Vector3(1, 0, 0))[0] < -0.999);
});
