import assert from "node:assert/strict";
import { test } from "node:test";

import { parseFigure } from "./figure";
import { Typing } from "./typing.svelte";

function field() {
  const at = { value: 40, writes: 0 };
  const of = (s: string) => {
    const v = parseFigure(s);
    return v >= -90 && v <= 90 ? v : undefined;
  };
  const t = new Typing<number>(
    () => at.value,
    of,
    (v) => {
      at.value = v;
      at.writes++;
    },
  );
  return { at, t };
}

test("a number that is refused leaves the value as it was before", () => {
  const { at, t } = field();
  t.type("9");
  assert.equal(at.value, 9);
  t.type("95");
  assert.equal(at.value, 40);
  assert.ok(t.wrong);
  t.done(); // Tab or Enter
  assert.equal(t.text, "95");
  t.follow();
  assert.equal(t.text, "95");
  t.type("85");
  t.done();
  assert.equal(t.text, null);
  assert.equal(at.value, 85);
});

test("Escape brings the value back, and a change from elsewhere ends the typing", () => {
  const { at, t } = field();
  t.type("12");
  t.undo();
  assert.equal(at.value, 40);
  t.type("100");
  at.value = 5; // by the slider
  t.follow();
  assert.equal(t.text, null);
  assert.equal(at.value, 5);
});
