import assert from "node:assert/strict";
import { test } from "node:test";

import { readings } from "./readings";
import { chance, judged, verdict } from "./words";

test("readings as the sheet has them", () => {
  assert.deepEqual(readings({ first: "212", second: "", good: "" }), ["212"]);
  assert.deepEqual(readings({ first: "212,5", second: " 213 ", good: "1" }), ["212.5 ± 1", "213 ± 1"]);
  assert.deepEqual(readings({ first: "", second: "", good: "1" }), []);
  for (const bad of ["x", "-3", "\u22123", "6000", "1e99"]) assert.deepEqual(readings({ first: bad, second: "212", good: "" }), [], bad);
  assert.deepEqual(readings({ first: "212", second: "", good: "0" }), []);
});

test("a reading against what was predicted", () => {
  assert.equal(judged([212], 210, 5), "2\u202fmm more than predicted: within its ±");
  assert.equal(judged([200, 202], 210, 5), "▲ 9\u202fmm less than predicted: more than its ±. Write it as it is");
  assert.equal(judged([210.3], 210, 5), "as predicted");
});

test("verdicts in words", () => {
  const at = (v: string, readings: object[]) => verdict({ verdict: v, readings, freedom: readings.length, open: null } as never);
  assert.match(at("agrees", [{}, {}]).title, /agrees with the ruler/);
  const wrong = at("one wrong", [{ step: 1 }, { step: 2, wrong: true }, { step: 4, suspect: true }]);
  assert.match(wrong.title, /step 2 does not go with the others/);
  assert.match(wrong.text, /step 4/);
  assert.match(wrong.text, /Measure it again/);
  const since = at("one wrong", [{ step: 1 }, { step: 2, wrong: true }, { step: 2 }]);
  assert.match(since.text, /A later reading of its step goes with the others/);
  assert.doesNotMatch(since.text, /Measure it again/);
  const less = { step: 2, from: "leg 2", to: "camera", reading_mm: 60, predicted_mm: 140, fitted_mm: 138.5, wrong: true };
  const open = verdict({ verdict: "one wrong", readings: [{ step: 1 }, less], freedom: 1, open: "step 2 is open" } as never);
  assert.ok(open.no);
  assert.match(open.title, /Step 2 is open: measure it again/);
  assert.match(open.text, /60\.0\u202fmm.*140\.0\u202fmm by the document and 138\.5\u202fmm.*enter that at step 2 too/);
  assert.match(at("contradicted", [{}, {}]).title, /contradicts/);
  assert.match(at("contradicted", [{}]).text, /one alone cannot tell/);
  assert.equal(chance(0.9994), "99.9\u202f%");
  assert.equal(chance(0.0004), "less than 0.1\u202f%");
});
