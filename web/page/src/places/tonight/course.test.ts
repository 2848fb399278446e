import assert from "node:assert/strict";
import { test } from "node:test";

import type { Altitudes, NightDoc } from "../../api/shapes";
import { along, between, doing, hourAngle, ofAxes, poseAt } from "./course";

const from = "2026-11-25T12:00:00Z";
const at = (min: number) => Date.parse(from) + min * 60000;
const moment = (min: number) => new Date(at(min)).toISOString();

const a = {
  from,
  step_s: 600,
  targets: [{ name: "M 31", altitude_deg: [10, 20, 40], hour_angle_h: [11.9, -11.9333, -11.7666], dec_deg: 41.4 }],
} as unknown as Altitudes;

const block = {
  target: "M 31",
  side: "west",
  from: moment(4),
  to: moment(20),
  come: { begin: moment(1), end: moment(3), flip: false, waypoints_deg: [[0, 0], [60, 30]] },
};
const n = { schedule: [block], park: { begin: moment(20), end: moment(22), flip: false, waypoints_deg: [[60, 30], [0, 0]] } } as unknown as NightDoc;

test("figures between two steps, and none beyond the ends", () => {
  const alt = a.targets[0]?.altitude_deg ?? [];
  assert.deepEqual([0, 5, 15, 20, 99].map((m) => along(a, alt, at(m))), [10, 15, 30, 40, 40]);
  assert.equal(along(a, alt, at(-5)), 10);
});

test("hour angles go on through lower transit", () => {
  const h = a.targets[0]?.hour_angle_h ?? [];
  assert.ok(Math.abs(hourAngle(a, h, at(5)) - 11.98335) < 1e-4);
  assert.ok(Math.abs(hourAngle(a, h, at(8)) + 11.96664) < 1e-4);
});

test("what the mount does: waits, slews, exposes, goes to park, stands", () => {
  assert.deepEqual([0, 2, 3.5, 10, 21, 30].map((m) => doing(n, at(m)).what), ["waiting", "slewing", "waiting", "exposing", "slewing", "waiting"]);
});

test("a pose of a block is the target's, one of a slew lies on its way", () => {
  const p = poseAt(n, a, at(10), 40, true);
  assert.equal(p?.side, "west");
  assert.equal(p?.decDeg, 41.4);
  const half = poseAt(n, a, at(2), 40, true);
  assert.deepEqual(half, { side: "west", hourAngleH: -4, decDeg: 75 });
  assert.equal(poseAt(n, a, at(2), 40, false), null);
  assert.equal(poseAt(n, a, at(30), 40, true), null);
});

// DESIGN 2: at latitude 40, hour angle 0, declination 40, side west gives θ = 90°, β = 50°.
test("axis angles and poses agree with the design's check values", () => {
  assert.deepEqual(ofAxes([90, 50], 40), { side: "west", hourAngleH: 0, decDeg: 40 });
  assert.deepEqual(ofAxes([-90, -50], 40), { side: "east", hourAngleH: 0, decDeg: 40 });
  assert.deepEqual(ofAxes([90, 50], -40), { side: "west", hourAngleH: 0, decDeg: -40 });
});

test("a path of several legs is followed by length", () => {
  assert.deepEqual(between([[0, 0], [30, 10], [30, -20]], 0.5), [30, 10]);
  assert.deepEqual(between([[0, 0], [30, 10], [30, -20]], 0.75), [30, -5]);
  assert.deepEqual(between([[7, 3]], 0.5), [7, 3]);
});
