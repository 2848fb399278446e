import assert from "node:assert/strict";
import { test } from "node:test";

import { isDate, shifted } from "./date";

test("dates that there are", () => {
  for (const s of ["2026-11-25", "2028-02-29"]) assert.ok(isDate(s), s);
  for (const s of ["", "2026-11", "2026-02-29", "2026-13-01", "25.11.2026", "2026-11-25x", "12026-11-25"]) assert.ok(!isDate(s), s);
});

test("a day later and earlier, over months and a leap day", () => {
  assert.equal(shifted("2026-12-31", 1), "2027-01-01");
  assert.equal(shifted("2028-03-01", -1), "2028-02-29");
});
