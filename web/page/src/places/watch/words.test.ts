import assert from "node:assert/strict";
import { test } from "node:test";

import type { WatchStep } from "../../api/shapes";
import { duration, gapFigure, leftFigure, limitWords, motionOf, spoken, stateOf } from "./words";

const step = (over: object, sample: object = {}): WatchStep =>
  ({
    rung: "watching",
    cause: "",
    blind: [],
    blind_why: [],
    alarms: [],
    nearest: [],
    time_left_s: 4000,
    no_end: false,
    sample: { motion: "tracking", side: "west", side_known_by: "confirmed", gap_lower_mm: 45.9, zone_mm: 20.1, a: "leg 2", b: "camera", hour_angle_h: 1, dec_deg: 2, ...sample },
    ...over,
  }) as unknown as WatchStep;

test("time left is rounded down, in the unit that fits", () => {
  const of = (s: number) => duration(s).big + " " + duration(s).unit;
  assert.deepEqual([0, 0.9, 59.9, 179.9, 180, 3599, 5999, 6000, 7505, -3].map(of), [
    "0 s",
    "0 s",
    "59 s",
    "179 s",
    "3 min",
    "59 min",
    "99 min",
    "1:40 h",
    "2:05 h",
    "0 s",
  ]);
});

test("no figure of time stands while it means nothing", () => {
  assert.equal(leftFigure(null).big, "?");
  assert.equal(leftFigure(step({})).big, "66");
  assert.equal(leftFigure(step({ blind: ["side"] })).big, "blind");
  assert.equal(leftFigure(step({ rung: "stopping" })).big, "stopping");
  assert.equal(leftFigure(step({ rung: "stopping", blind: ["link"] })).big, "stopping");
  assert.equal(leftFigure(step({ rung: "hooked" })).big, "cut power");
  assert.equal(leftFigure(step({ rung: "stopped", time_left_s: null })).big, "stopped");
  assert.equal(leftFigure(step({ time_left_s: null, no_end: true }, { motion: "still" })).big, "still");
  assert.equal(leftFigure(step({ time_left_s: null, no_end: true })).big, "no end");
  assert.equal(leftFigure(step({ time_left_s: null }, { motion: "moving" })).big, "slewing");
  assert.equal(leftFigure(step({ time_left_s: null })).big, "?");
});

test("the gravest state is named", () => {
  assert.equal(stateOf(null), "stale");
  assert.equal(stateOf(step({ rung: "stopped", blind: ["reference"] })), "blind");
  assert.equal(stateOf(step({ rung: "hooked", blind: ["link"] })), "disobeyed");
  assert.equal(stateOf(step({ rung: "warned" })), "warned");
});

test("a gap is rounded down, an overlap too", () => {
  assert.equal(gapFigure(step({})).big, "45");
  assert.equal(gapFigure(step({}, { gap_lower_mm: -0.2 })).big, "\u22121");
  assert.equal(gapFigure(step({}, { gap_lower_mm: null })).big, "?");
});

test("a blind watch shows no gap", () => {
  assert.equal(gapFigure(step({ blind: ["side"] })).said, "not known");
  assert.doesNotMatch(limitWords(step({ blind: ["side"] })), /mm/);
  assert.match(limitWords(step({})), /at least 45.*a stop is due at 21/);
  // A slew goes on with less than that where all that it can reach is proven free: the figure would say that a stop is overdue.
  const slew = { motion: "moving", zone_mm: 166 };
  assert.match(limitWords(step({}, slew)), /at least 45.*what it can reach before it would stand still is proven free/);
  assert.match(limitWords(step({ proven_path: true }, slew)), /proven beforehand/);
  assert.match(limitWords(step({ rung: "stopping" }, slew)), /a stop is due at 166/);
  assert.match(limitWords(step({}, { zone_mm: 50 })), /a stop is due at 50/);
});

test("a screen reader hears changes, not seconds", () => {
  const at = (s: number) => spoken(step({ time_left_s: s }));
  assert.equal(at(4000), at(3700));
  assert.equal(at(1700), at(950));
  assert.notEqual(at(950), at(890));
  assert.match(at(59), /Less than 60 seconds/);
  assert.match(spoken(step({ blind: ["link"] })), /No link to the mount/);
});

test("a parked mount is not told to track", () => {
  const said = (sample: object): string => motionOf(step({}, sample).sample as never);
  assert.equal(said({ motion: "tracking", tracking: "yes", parked: "no" }), "tracks");
  assert.equal(said({ motion: "tracking", tracking: "no", parked: "yes" }), "is parked, and is not seen to stand still yet");
  assert.equal(said({ motion: "tracking", tracking: "yes", parked: "yes" }), "is parked, and is said to track");
  assert.equal(said({ motion: "still", tracking: "no", parked: "yes" }), "is parked, and stands still");
});
