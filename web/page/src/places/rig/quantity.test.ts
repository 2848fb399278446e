import assert from "node:assert/strict";
import { test } from "node:test";

import { around, bounded, counts, forDocument, parse, plain, unmeasuredWords, withUnit, written, wrong } from "./quantity";

test("reads what owners type", () => {
  for (const [text, value, tolerance] of [
    ["460", 460, null],
    [" 460 ± 5 ", 460, 5],
    ["460±5", 460, 5],
    ["460 +- 2.5", 460, 2.5],
    ["460 +/- 5 mm", 460, 5],
    ["\u221228,5", -28.5, null],
    ["-28 ± 3 mm", -28, 3],
    ["12°", 12, null],
  ] as const) {
    assert.deepEqual(parse(text), { value, tolerance }, text);
  }
  for (const text of ["", "abc", "460 ±", "46 cm", "4 6", "1e3", "460 ± 5 ± 2", "NaN", "--3"]) assert.equal(parse(text), undefined, text);
});

test("says what does not fit", () => {
  const q = { unit: "mm", min: 0, above: true, max: 100 } as const;
  assert.equal(wrong("50 ± 2", q), "");
  assert.match(wrong("0", q), /above 0/);
  assert.match(wrong("101", q), /at most 100/);
  assert.match(wrong("x", q), /460 ± 5/);
  assert.match(wrong("5 ± \u22121", q), /not negative/);
  assert.equal(wrong("0", { unit: "mm", min: 0 }), "");
});

test("writes as a document and as a drawing does", () => {
  assert.equal(written({ value: -28, tolerance: 3 }), "\u221228 ± 3");
  assert.equal(withUnit({ value: 12.5, tolerance: 0, unit: "deg" }), "12.5°");
  assert.equal(plain(0.1 + 0.2), "0.3");
  assert.equal(forDocument(-28.4000001, 3), "-28.4 ± 3");
  assert.equal(forDocument(460, null), "460");
  assert.equal(forDocument(461, 46, "unmeasured"), "461 ± 46 unmeasured");
  assert.equal(forDocument(461, 2.1, "fitted"), "461 ± 2.1 fitted");
  assert.deepEqual(parse(written({ value: -28.5, tolerance: 0.25 })), { value: -28.5, tolerance: 0.25 });
});

test("a slider stays within what the document allows", () => {
  const q = { value: 20, unit: "mm", min: 0, above: true } as const;
  assert.deepEqual(around(q), [1, 80]);
  assert.equal(bounded(-5, q), 1);
  assert.equal(bounded(700, { unit: "deg", min: -360, max: 360 }), 360);
});

test("where quantities come from", () => {
  const q = (source: string, unit = "mm") => ({ source, unit }) as never;
  assert.equal(counts([q("measured"), q("default"), q("fitted"), q("unmeasured"), q("unmeasured", "kg")]), "1 measured, ◐ 1 fitted, ○ 2 unmeasured, 1 left to the program");
  assert.equal(counts([q("default")]), "0 measured, 1 left to the program");
  assert.equal(unmeasuredWords([q("unmeasured"), q("unmeasured", "deg"), q("unmeasured", "kg"), q("default")]), "2 lengths and 1 mass unmeasured");
  assert.equal(unmeasuredWords([q("unmeasured", "kg"), q("unmeasured", "kg")]), "2 masses unmeasured");
  assert.equal(unmeasuredWords([q("measured")]), "");
});
