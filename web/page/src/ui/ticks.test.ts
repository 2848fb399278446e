import assert from "node:assert/strict";
import { test } from "node:test";

import { scale, ticked, ticks } from "./ticks";

test("ticks are round and few", () => {
  assert.deepEqual(ticks(0, 300, 7), [0, 50, 100, 150, 200, 250, 300]);
  assert.deepEqual(ticks(-60, 60, 7), [-60, -40, -20, 0, 20, 40, 60]);
  assert.deepEqual(ticks(88.2, 91.1, 5), [89, 90, 91]);
  assert.deepEqual(ticks(3, 3, 5), [3]);
});

test("an axis has all its figures with as many decimals", () => {
  const px = scale(0, 2, 100, 20); // upwards
  assert.deepEqual(ticked(0, 2, 5, px), [
    { at: 100, text: "0.0" },
    { at: 80, text: "0.5" },
    { at: 60, text: "1.0" },
    { at: 40, text: "1.5" },
    { at: 20, text: "2.0" },
  ]);
  assert.deepEqual(ticked(-50, 50, 3, scale(-50, 50, 0, 100)).map((t) => t.text), ["\u221250", "0", "50"]);
  assert.equal(scale(3, 3, 10, 20)(3), 10);
});
