import assert from "node:assert/strict";
import { test } from "node:test";

import { atLeast, atMost } from "./figure";

test("room is rounded down and its cost up, as the command does", () => {
  assert.equal(atLeast(98.69), "98");
  assert.equal(atLeast(98.69, 1), "98.6");
  assert.equal(atMost(10.938, 1), "11.0");
  assert.equal(atMost(10.9, 1), "10.9");
  assert.equal(atLeast(0.04, 1), "0.0");
});
