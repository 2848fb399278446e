import assert from "node:assert/strict";
import { test } from "node:test";

import { ticks } from "./ticks";

test("ticks are round and few", () => {
  assert.deepEqual(ticks(0, 300, 7), [0, 50, 100, 150, 200, 250, 300]);
  assert.deepEqual(ticks(-60, 60, 7), [-60, -40, -20, 0, 20, 40, 60]);
  assert.deepEqual(ticks(88.2, 91.1, 5), [89, 90, 91]);
  assert.deepEqual(ticks(3, 3, 5), [3]);
});
