import assert from "node:assert/strict";
import { test } from "node:test";

import { altitudeAt, between, outline, type Point, written } from "./skyline";

const h: Point[] = [[40, 10], [100, 20], [300, 0]];

test("the altitude is straight between the points, and round over north", () => {
  assert.equal(altitudeAt(h, 40), 10);
  assert.equal(altitudeAt(h, 70), 15);
  assert.equal(altitudeAt(h, 200), 10);
  assert.equal(altitudeAt(h, 350), 5); // half of the 100° from 300° to 40°
  assert.equal(altitudeAt(h, 0), 6);
  assert.equal(altitudeAt([], 12), 0);
  assert.equal(altitudeAt([[90, 7]], 12), 7);
});

test("a new point changes nothing", () => {
  assert.deepEqual(between(h), [200, 10]);
  assert.deepEqual(between([[10, 8], [350, 4]]), [180, 6]);
  assert.deepEqual(between([]), [0, 0]);
  assert.deepEqual(between([[90, 7]]), [270, 7]);
});

test("the outline begins and ends in the north", () => {
  assert.deepEqual(outline(h), [[0, 6], ...h, [360, 6]]);
  assert.deepEqual(outline([]), [[0, 0], [360, 0]]);
});

test("what is written is sorted", () => {
  assert.equal(written([[100, 20], [40, -1.5]]), "[[40, -1.5], [100, 20]]");
});
