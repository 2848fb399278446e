import assert from "node:assert/strict";
import { test } from "node:test";

import { ask, changed, read, standard } from "./settings";

test("what was kept is read again, and what is wrong in it is as at the start", () => {
  const mine = { ...standard, altitudeDeg: 30, twilight: "own" as const, sunDeg: -14.5, limits: "two-number" as const };
  assert.deepEqual(read(JSON.stringify(mine)), mine);
  assert.deepEqual(read(JSON.stringify({ altitudeDeg: 91, subS: "300", twilight: "toString", limits: "none", moonDeg: 20 })), { ...standard, moonDeg: 20 });
  for (const junk of [null, "", "null", "[", "7"]) assert.deepEqual(read(junk), standard);
});

test("a request has the server's units", () => {
  const a = ask({ ...standard, moonPercent: 40, twilight: "nautical" });
  assert.equal(a.moon_lit, 0.4);
  assert.equal(a.sun_below_deg, -12);
  assert.equal(ask({ ...standard, twilight: "own", sunDeg: -15 }).sun_below_deg, -15);
});

test("changed counts what counts", () => {
  assert.equal(changed(standard), 0);
  assert.equal(changed({ ...standard, sunDeg: -10 }), 0);
  assert.equal(changed({ ...standard, twilight: "own", sunDeg: -10, subS: 60 }), 3);
});
