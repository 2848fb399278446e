import assert from "node:assert/strict";
import { test } from "node:test";

import type { VariantDoc } from "../../api/shapes";
import { differs, idle, labelOf, massless, rows, unflipped } from "./rows";
import { aimText, spread } from "./wish";

const v = (over: object): VariantDoc =>
  ({
    room_percent: { west: 50, east: 51, either: 89.97 },
    idle_sum_min: 12.2,
    lost_sum_min: null,
    no_way_sum_min: null,
    worst_gap_mm: -3.2,
    worst: { a: "leg 2", b: "camera" },
    tipping: { anchored: false, push_n: 99.9, wind_m_per_s: 20 },
    tipping_missing: [],
    bending: [],
    counterweights: [],
    counterweights_fit: true,
    balance_missing: [],
    balance_slide_mm: null,
    cables: [{ name: "power", slack_mm: -4, reach_mm: 900 }],
    targets: [{ name: "M 31", rises: true, idle_min: 12.2 }, { name: "far", rises: false }],
    differences: [],
    ...over,
  }) as unknown as VariantDoc;

const say = (label: string, x: VariantDoc) => rows.find((r) => r.label.startsWith(label))?.of(x);

test("never better than it is", () => {
  assert.equal(say("Room, on", v({})), "89.9\u202f%");
  assert.equal(say("Idle", v({})), "13\u202fmin");
  assert.equal(say("Of that without a proven way", v({ lost_sum_min: 90, no_way_sum_min: 20.1 })), "21\u202fmin");
  assert.equal(say("Worst", v({})), "\u22124\u202fmm, leg 2 – camera");
  assert.equal(say("Tips over by", v({})), "99\u202fN");
  assert.equal(say("Cables", v({})), "power: ▲ 4\u202fmm too short");
  const cables = [{ name: "power", slack_mm: -3.2, reach_mm: 900 }, { name: "data", slack_mm: 18.9, reach_mm: 900 }, { name: "dew", slack_mm: null, reach_mm: 900.1 }];
  assert.equal(say("Cables", v({ cables })), "power: ▲ 4\u202fmm too short; data: 18\u202fmm; dew: reach 901\u202fmm");
  assert.equal(say("Bends", v({ bending: [{ name: "extension", push_arcsec: 7.21 }] })), "extension: 7.3″");
  assert.equal(idle(v({}), "M 31"), "13\u202fmin");
  assert.equal(idle(v({}), "far"), "does not rise");
});

test("the push that bending is for is named", () => {
  const bends = rows.filter((r) => r.by !== undefined);
  assert.deepEqual(bends.map((r) => labelOf(r, 12.5)), ["Bends by a push of 12.5\u202fN at the height where the axes cross"]);
  assert.equal(bends[0] && labelOf(bends[0], 10), "Bends by a push of 10\u202fN at the height where the axes cross");
});

test("what differs", () => {
  const taller = v({ idle_sum_min: 0, differences: ["idle_min"] });
  assert.deepEqual(rows.filter((r) => differs(r, taller, v({}))).map((r) => r.label), ["Idle, all targets"]);
});

test("a figure that leaves out what has no mass is marked where it does", () => {
  const marked = (x: VariantDoc) => rows.filter((r) => (r.lacks?.(x) ?? []).length > 0).map((r) => r.label);
  const present = v({ name: "present" });
  const riser = v({ name: "riser", tipping_missing: ["tripod", "extension"] });
  const turned = v({ name: "turned", tipping: null, tipping_missing: ["tripod", "saddle"], balance_missing: ["saddle"] });
  assert.deepEqual(marked(present), []);
  assert.deepEqual(marked(riser), ["Tips over by a push of", "Tips over in a wind of"]);
  assert.deepEqual(marked(turned), ["Tips over by a push of", "Tips over in a wind of", "Counterweights go to", "Tube slides into balance by"]);
  assert.equal(say("Tips over by", turned), "not known");
  assert.deepEqual(marked(v({ tipping: { anchored: true, push_n: 0, wind_m_per_s: 0 } })), []);
  assert.deepEqual(massless([present, riser, turned]).map((g) => [g.names, g.of.map((x) => x.name)]), [["tripod, extension", ["riser"]], ["tripod, saddle", ["turned"]]]);
});

test("idle time of none is marked where no flip is proven", () => {
  const marked = (x: VariantDoc) => rows.filter((r) => (r.unproven?.(x) ?? []).length > 0).map((r) => r.label);
  const high = { name: "M 31", rises: true, idle_min: 0, flip_unproven: true };
  const [present, turned] = [v({ name: "present" }), v({ name: "turned", idle_sum_min: 0, targets: [high, { name: "low", rises: true, idle_min: 0, flip_unproven: false }] })];
  assert.deepEqual(marked(present), []);
  assert.deepEqual(marked(turned), ["Idle, all targets"]);
  assert.deepEqual(unflipped([present, turned]).map((g) => [g.names, g.of.map((x) => x.name)]), [["M 31", ["turned"]]]);
});

test("what is asked of the solver", () => {
  assert.equal(aimText({ kind: "most-room", altitude: 30, minutes: 20 }), "most-room");
  assert.equal(aimText({ kind: "no-idle", altitude: 30, minutes: 20 }), "no-idle above 30");
  assert.equal(aimText({ kind: "past", altitude: 0, minutes: 20 }), "past=20");
});

test("a range is a variant for each value", () => {
  assert.deepEqual(spread(0, 1, 0.25), [0, 0.25, 0.5, 0.75, 1]);
  assert.deepEqual(spread(-60, 60, 50), [-60, -10, 40]);
  assert.deepEqual(spread(0, 1, 0), []);
  assert.deepEqual(spread(1, 0, 1), []);
  assert.deepEqual(spread(0, 1, 1e-9), []);
});
