import assert from "node:assert/strict";
import { test } from "node:test";

import { History } from "./history";

test("goes back and forth through texts", () => {
  const h = new History();
  assert.equal(h.undo("a"), undefined);
  h.push("a");
  h.push("b");
  assert.equal(h.undo("c"), "b");
  assert.equal(h.undo("b"), "a");
  assert.equal(h.undoable, false);
  assert.equal(h.redo("a"), "b");
  assert.equal(h.redo("b"), "c");
  assert.equal(h.redoable, false);
});

test("a change after going back ends the way forth", () => {
  const h = new History();
  h.push("a");
  h.undo("b");
  h.push("a");
  assert.equal(h.redo("c"), undefined);
});

test("changes under one label within a moment are one step", () => {
  const h = new History();
  h.push("a", "slider", 1000);
  h.push("b", "slider", 1100);
  h.push("c", "slider", 2000);
  assert.equal(h.undo("d"), "a");
  assert.equal(h.redo("a"), "d");
  h.push("d", "slider", 9000);
  h.push("e", "slider", 20000);
  h.push("f", "other", 20001);
  assert.equal(h.undo("g"), "f");
  assert.equal(h.undo("f"), "e");
  assert.equal(h.undo("e"), "d");
});

test("after a step back the same label starts anew", () => {
  const h = new History();
  h.push("a", "slider", 1000);
  assert.equal(h.undo("b"), "a");
  h.push("a", "slider", 1100);
  assert.equal(h.undo("c"), "a");
});
