import assert from "node:assert/strict";
import { test } from "node:test";

import { aimWords, certified, found, missWords, tradeOff } from "./solved";

test("what was found stands as it was proven", () => {
  assert.deepEqual([112.34, 0.05, 45, -3.25].map(found), ["112.34", "0.05", "45", "\u22123.25"]);
});

test("aims in words", () => {
  assert.equal(aimWords("no-idle above 30"), "no idle time, for what culminates above 30°");
  assert.equal(aimWords("past=20"), "side west tracks 20\u202fmin past the meridian, without idle time");
});

test("what a rig leaves of the aim", () => {
  const price = { miss_unit: "min", certificate: { of: "price" } } as never;
  assert.equal(missWords(price, { values: {}, price: 1, miss: 0, meets: true }), "meets it, proven");
  assert.equal(missWords(price, { values: {}, price: 1, miss: 4.2, meets: false }), "misses it by 4.2\u202fmin in the mean");
  assert.equal(missWords({ miss_unit: "percent", certificate: { of: "miss" } } as never, { values: {}, price: 1, miss: 10, meets: false }), "has room in 90.0\u202f% of the sky");
});

test("the trade-off has the best where it lies, and only falls", () => {
  const at = (first: number, miss: number | null, best = false) => ({ first: 183 + first, first_takes: first, miss_at_least: 1, best, point: { values: {}, price: first, miss, meets: false } });
  const front = [at(0, 9), at(10, 4), at(12, 5, true), at(15, null), at(20, 2)];
  assert.deepEqual(tradeOff({ miss_unit: "min", front } as never), { x: [0, 10, 12, 20], least: [9, 4, 4, 2], proven: [1, 1, 1, 1], best: [null, null, 5, null] });
  assert.deepEqual(tradeOff({ miss_unit: "percent", front } as never).best, [null, null, 95, null]);
});

test("certificates claim no more than is proven", () => {
  const c = (over: object) => certified({ miss_unit: "min", best: {}, certificate: { of: "miss", bound: 1, off: 0.5, done: true, impossible: false, boxes: 3, ...over } } as never);
  assert.match(c({}), /better by more than 0.50\u202fmin\.$/);
  assert.match(c({ of: "price", off: 2.61 }), /for less by more than the price of 2.7\u202fmm of riser\.$/);
  assert.match(c({ of: "price", bound: 2.69, off: null }), /less than the price of 2.6\u202fmm of riser\.$/);
  assert.match(c({ done: false }), /stopped at the end of its work/);
  assert.match(c({ bound: null, off: null }), /could not be proven/);
  assert.match(c({ impossible: true }), /nothing within these bounds meets/);
});
