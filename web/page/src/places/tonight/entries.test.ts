import assert from "node:assert/strict";
import { test } from "node:test";

import { begun, change, scalar, value } from "./entries";

test("names are written plainly where YAML takes them so, and in quotes elsewhere", () => {
  assert.equal(scalar(" M 31 "), "M 31");
  assert.equal(scalar("a: b"), '"a: b"');
  assert.equal(scalar("O'Neill, field #2"), '"O\'Neill, field #2"');
  assert.equal(scalar("12"), '"12"');
  assert.equal(scalar("No"), '"No"');
  assert.equal(scalar("a\nb"), '"a\\nb"');
});

test("an entry has its own place, or that of the built-in list", () => {
  assert.equal(value({ name: "NGC 7000" }), "{name: NGC 7000}");
  assert.equal(value({ name: "mine", ra: "05h12m", dec: "\u22125.4" }), '{name: mine, ra: "05h12m", dec: "-5.4"}');
});

test("the first entry keeps the comments that stand there", () => {
  assert.equal(begun("", "{name: M 31}"), "targets:\n  - {name: M 31}\n");
  assert.equal(begun("# wishes\ntargets: []\n", "{name: M 31}"), "# wishes\ntargets:\n  - {name: M 31}\n");
  assert.equal(begun("[]", "{name: M 31}"), "targets:\n  - {name: M 31}\n");
});

test("an empty figure is taken away", () => {
  assert.deepEqual(change(2, "sub_s", null), { op: "delete", path: "targets[2].sub_s" });
  assert.deepEqual(change(0, "priority", 1), { op: "set", path: "targets[0].priority", value: "1" });
});
