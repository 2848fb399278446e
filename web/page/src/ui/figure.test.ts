import assert from "node:assert/strict";
import { test } from "node:test";

import { atLeast, atMost, duration, entry, hourAngle, minutes } from "./figure";

test("room is rounded down and its cost up, as the command does", () => {
  assert.equal(atLeast(98.69), "98");
  assert.equal(atLeast(98.69, 1), "98.6");
  assert.equal(atMost(10.938, 1), "11.0");
  assert.equal(atMost(10.9, 1), "10.9");
  assert.equal(atLeast(0.04, 1), "0.0");
});

test("a limit to enter is cut off, never rounded up, as the command does", () => {
  assert.deepEqual([61.1875, 61.666666667, 95, 0.3].map(entry), ["61.1875", "61.6666", "95", "0.3"]);
});

test("the hour angle of a pose in hours, what is entered in minutes, as the command writes them", () => {
  assert.deepEqual([-1, 1.25, -9.96, 0].map((h) => hourAngle(h)), ["\u22121\u202fh", "1.25\u202fh", "\u22129.96\u202fh", "0\u202fh"]);
  assert.equal(hourAngle(-9.96, 1), "\u221210\u202fh");
  assert.deepEqual([165, 0, -37].map(minutes), ["+165\u202fmin", "0\u202fmin", "\u221237\u202fmin"]);
  assert.deepEqual([40, 68, 120].map(duration), ["40\u202fmin", "1\u202fh 08\u202fmin", "2\u202fh 00\u202fmin"]);
});
