import assert from "node:assert/strict";
import { test } from "node:test";

import { besideCurve, type Box, crosses, type Point } from "./label";

const box: Box = { left: 10, right: 20, top: 10, bottom: 14 };

// By hand: through, past a corner, inside, and touching.
test("a segment crosses a box", () => {
  assert.ok(crosses(box, [0, 12], [30, 12]));
  assert.ok(crosses(box, [15, 12], [16, 13]));
  assert.ok(crosses(box, [8, 8], [22, 16]));
  assert.ok(crosses(box, [20, 0], [20, 10]));
  assert.ok(!crosses(box, [0, 0], [9, 20]));
  assert.ok(!crosses(box, [0, 9], [30, 9]));
  assert.ok(!crosses(box, [0, 12], [9, 12]));
});

const frame: Box = { left: 0, right: 400, top: 0, bottom: 200 };
const size: Point = [90, 16];
const arc = (x0: number, x1: number, high: number): Point[] =>
  Array.from({ length: 61 }, (_, i) => [x0 + ((x1 - x0) * i) / 60, 200 - high * Math.sin((Math.PI * i) / 60)] as const);

test("words beside a curve lie on none, and inside the frame", () => {
  const moon = [arc(20, 380, 150)];
  const others = [arc(0, 300, 190), arc(100, 400, 120), arc(-100, 250, 170)];
  const l = besideCurve(moon, size, 9, others, [], frame);
  assert.ok(l?.words);
  const w = l.words;
  for (const c of [...moon, ...others]) for (const [i, q] of c.entries()) assert.ok(i === 0 || !crosses(w, c[i - 1] ?? q, q));
  assert.ok(w.left >= 0 && w.right <= 400 && w.top >= 0 && w.bottom <= 200);
  const crossing = besideCurve(moon, size, 9, [arc(100, 300, 150)], [], frame); // it touches the moon's at the top
  assert.ok(crossing && Math.abs(crossing.disk[0] - 200) > 9);
  assert.equal(besideCurve(moon, size, 9, [], [], frame)?.disk[1], 50, "alone it stays at the top");
});

test("where there is no clear place the disk stands alone", () => {
  const mesh = Array.from({ length: 50 }, (_, i): Point[] => [[0, 4 * i], [400, 4 * i]]);
  const l = besideCurve([arc(20, 380, 150)], size, 9, mesh, [], frame);
  assert.equal(l?.words, null);
  assert.equal(l.disk[1], 50);
  const covered = besideCurve([arc(20, 380, 150)], size, 9, mesh, [{ left: 190, right: 210, top: 40, bottom: 60 }], frame);
  assert.ok(covered && Math.abs(covered.disk[0] - 200) >= 19, "it does not cover what is there");
  assert.equal(besideCurve([], size, 9, [], [], frame), null);
  assert.equal(besideCurve([arc(20, 380, 150)], size, 9, [], [frame], frame)?.words, null);
});
