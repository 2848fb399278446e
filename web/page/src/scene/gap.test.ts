import assert from "node:assert/strict";
import { test } from "node:test";

import { decided, gapWords, provenWords } from "./gap";

test("a bound is said as a bound, on the side that takes room away", () => {
  assert.equal(gapWords(21.9), "21\u202fmm");
  assert.equal(provenWords(68.9), "at least 68\u202fmm");
  assert.equal(provenWords(-0.1), "may overlap by 1\u202fmm");
});

test("what decides a pose", () => {
  const decides = { a: "leg 2", b: "camera" } as never;
  assert.equal(decided({ out_of_travel: null, decides, gap_lower_mm: 12.7 }), "leg 2 – camera, at least 12\u202fmm");
  assert.equal(decided({ out_of_travel: "RA axis: 400° is beyond 270°", decides, gap_lower_mm: 500 }), "the axes do not reach this pose");
});
