import assert from "node:assert/strict";
import test from "node:test";

import { budget, Sharpness } from "./sharpness";

test("a fast renderer always draws sharply", () => {
  const s = new Sharpness(() => assert.fail("no picture is due"));
  s.took(1, budget);
  s.asked();
  assert.equal(s.share, 1);
});

test("a slow renderer draws coarsely while the picture moves, and sharply once it rests", (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  let again = 0;
  const s = new Sharpness(() => again++);
  assert.equal(s.share, 1, "nothing is known yet");
  s.took(1, 4 * budget);
  s.asked();
  assert.equal(s.share, 0.5);
  s.took(0.5, budget);
  assert.equal(s.share, 0.5, "a quarter of the pixels in the budget: it stays");
  t.mock.timers.tick(150);
  s.asked();
  t.mock.timers.tick(150);
  assert.equal(again, 0, "it moves");
  t.mock.timers.tick(50);
  assert.equal(again, 1);
  assert.equal(s.share, 1);
});

test("a picture stays one that can be read, however slow the renderer is", () => {
  const s = new Sharpness(() => undefined);
  s.took(1, 100 * budget);
  s.asked();
  assert.equal(s.share, 0.375);
  s.dispose();
});
