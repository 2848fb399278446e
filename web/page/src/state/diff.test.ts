import assert from "node:assert/strict";
import { test } from "node:test";

import { diff, hunks } from "./diff";

const only = (a: string, b: string, kind: string) => diff(a, b).flatMap((l) => (l.kind === kind ? [l.text] : []));

test("names what differs", () => {
  assert.deepEqual(only("a\nb\nc", "a\nx\nc", "first"), ["b"]);
  assert.deepEqual(only("a\nb\nc", "a\nx\nc", "second"), ["x"]);
  assert.deepEqual(only("a\nb\nc", "a\nb\nc", "first"), []);
  assert.deepEqual(only("", "a", "second"), ["a"]);
});

// A comparison holds both texts, whatever they are, and no common line more than the longest common subsequence has.
test("gives both texts back", () => {
  let seed = 20261;
  const random = (n: number) => (seed = (seed * 48271) % 2147483647) % n;
  for (let round = 0; round < 300; round++) {
    const text = () => Array.from({ length: random(12) }, () => "abc".charAt(random(3))).join("\n");
    const [a, b] = [text(), text()];
    const lines = diff(a, b);
    const side = (not: string) => lines.flatMap((l) => (l.kind === not ? [] : [l.text])).join("\n");
    assert.equal(side("second"), a, `seed 20261, round ${round}`);
    assert.equal(side("first"), b, `seed 20261, round ${round}`);
    assert.equal(lines.filter((l) => l.kind === "same").length, common(a.split("\n"), b.split("\n")), `round ${round}: ${JSON.stringify([a, b])}`);
  }
});

// The length of the longest common subsequence by its plain recursion.
function common(a: string[], b: string[], memo = new Map<string, number>()): number {
  if (a.length === 0 || b.length === 0) return 0;
  const key = `${a.length} ${b.length}`;
  const known = memo.get(key);
  if (known !== undefined) return known;
  const [x, y] = [a.slice(1), b.slice(1)];
  const n = a[0] === b[0] ? 1 + common(x, y, memo) : Math.max(common(x, b, memo), common(a, y, memo));
  memo.set(key, n);
  return n;
}

test("keeps a few lines around what changed", () => {
  const text = (x: string) => ["1", "2", "3", "4", "5", x, "7", "8", "9", "10"].join("\n");
  const shown = hunks(diff(text("6"), text("six")), 2).map((l) => (l ? l.text : "…"));
  assert.deepEqual(shown, ["…", "4", "5", "6", "six", "7", "8", "…"]);
});
