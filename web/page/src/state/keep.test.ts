import assert from "node:assert/strict";
import { test } from "node:test";

import { Keep, type Store } from "./keep";

function memory(full = false): Store {
  const m = new Map<string, string>();
  return {
    get length() {
      return m.size;
    },
    key: (i) => [...m.keys()][i] ?? null,
    getItem: (k) => m.get(k) ?? null,
    removeItem: (k) => void m.delete(k),
    setItem: (k, v) => {
      if (full) throw new Error("no space");
      m.set(k, v);
    },
  };
}

const draft = (text: string) => ({ id: "a/b", version: "1", base: "base", text });

test("what is not saved outlives the page", () => {
  const s = memory();
  new Keep(s, "one").put(draft("mine"), 5);
  assert.deepEqual(new Keep(s, "one").find("a/b", []), [{ ...draft("mine"), tab: "one", at: 5 }]);
  assert.deepEqual(new Keep(s, "one").find("a", []), []);
});

test("a crashed tab's draft is found, a living one's is left alone", () => {
  const s = memory();
  new Keep(s, "one").put(draft("old"), 1);
  new Keep(s, "two").put(draft("new"), 2);
  const found = (tab: string, living: string[]) => new Keep(s, tab).find("a/b", living).map((k) => k.text);
  assert.deepEqual(found("three", []), ["new", "old"]);
  assert.deepEqual(found("three", ["two"]), ["old"]);
  assert.deepEqual(found("one", ["two"]), ["old"]);
  assert.deepEqual(found("one", []), ["old", "new"]);
});

test("two tabs do not write over each other's", () => {
  const s = memory();
  const [one, two] = [new Keep(s, "one"), new Keep(s, "two")];
  one.put(draft("1"));
  two.put(draft("2"));
  one.drop("a/b");
  assert.deepEqual(one.find("a/b", []).map((k) => k.text), ["2"]);
});

test("a full or broken store is told of, not fallen over", () => {
  assert.equal(new Keep(memory(true), "one").put(draft("x")), false);
  const s = memory();
  s.setItem("legroom.draft x", "{");
  s.setItem("legroom.draft y", '{"id": "a/b"}');
  s.setItem("other", "[]");
  assert.deepEqual(new Keep(s, "one").find("a/b", []), []);
});
