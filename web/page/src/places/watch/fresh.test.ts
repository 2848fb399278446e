import assert from "node:assert/strict";
import { test } from "node:test";

import { Fresh } from "./fresh";

test("what was heard grows old by either clock", () => {
  let [steady, wall] = [1000, 5_000_000];
  const f = new Fresh(
    () => steady,
    () => wall,
  );
  assert.equal(f.age(), Infinity);
  f.heard();
  assert.equal(f.age(), 0);
  steady += 2500;
  assert.equal(f.age(), 2500);
  wall += 60_000; // it slept
  assert.equal(f.age(), 60_000);
  f.heard();
  wall -= 90_000; // it was set back
  assert.equal(f.age(), 90_000);
  f.forget();
  assert.equal(f.age(), Infinity);
});
