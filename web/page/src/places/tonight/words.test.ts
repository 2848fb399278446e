import assert from "node:assert/strict";
import { test } from "node:test";

import type { AdviceDoc } from "../../api/shapes";
import { enter } from "./words";

test("what to enter", () => {
  const of = (a: Partial<AdviceDoc>) => enter({ kind: "flip", stop_min: null, flip_from_min: null, flip_until_min: null, text: "as it says", ...a });
  assert.deepEqual(of({ stop_min: -38, flip_from_min: 37 }), { stop: "\u221238 min", flip: "from +37 min" });
  assert.deepEqual(of({ flip_from_min: -8, flip_until_min: 36 }), { stop: "nothing stops it", flip: "\u22128 min to +36 min" });
  assert.deepEqual(of({ kind: "no_flip_proven", stop_min: 118 }), { stop: "+118 min", flip: "none is proven: waypoints, or by hand and eye" });
  assert.deepEqual(of({ kind: "no_flip_needed" }), { stop: "ends when too low", flip: "as it says" });
  assert.deepEqual(of({ kind: "west_only", stop_min: 60 }), { stop: "+60 min", flip: "as it says" });
});

test("where a side has no room, nobody is told that nothing stops it, or to go there by hand", () => {
  for (const kind of ["east_only", "nothing"] as const) {
    assert.deepEqual(enter({ kind, stop_min: null, flip_from_min: 30, flip_until_min: null, text: "why" }), { stop: "–", flip: "why" });
  }
});
