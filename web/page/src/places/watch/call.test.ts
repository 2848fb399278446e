import assert from "node:assert/strict";
import { test } from "node:test";

import type { WatchStep } from "../../api/shapes";
import { callOf, headline, type Heard } from "./call";

const step = (over: object = {}): WatchStep => ({ rung: "watching", blind: [], alarms: [], sample: { motion: "tracking" }, ...over }) as unknown as WatchStep;
const of = (over: Partial<Heard>) => headline({ running: true, step: step(), waiting: false, away: false, stopping: "no", ...over });

test("the head of every place names what is wrong with the watch, and nothing else", () => {
  assert.equal(of({}), "");
  assert.equal(of({ step: step({ sample: { motion: "moving" } }) }), "");
  assert.match(of({ step: step({ blind: ["link"] }) }), /^Blind/);
  assert.match(of({ step: step({ rung: "stopping" }) }), /^Stopping/);
  assert.match(of({ step: step({ rung: "stopped" }) }), /^Stopped/);
  assert.match(of({ step: step({ rung: "hooked" }) }), /^The mount does not obey/);
  assert.match(of({ step: step({ rung: "warned" }) }), /^A stop is due soon/);
  assert.match(of({ stopping: "failed" }), /has not reached/);
});

test("silence is told once it means something", () => {
  assert.match(of({ step: null }), /^No status/);
  assert.equal(of({ step: null, waiting: true }), "");
  assert.equal(of({ step: null, away: true }), "");
  assert.equal(of({ step: null, running: false }), "");
  assert.match(of({ step: step({ blind: ["link"] }), waiting: true }), /^Blind/);
});

test("the gravest alarm that nobody has heard yet calls", () => {
  const alarms = (...list: object[]) => step({ alarms: list });
  const [warning, alarm] = [{ level: "warning" }, { level: "alarm" }];
  assert.equal(callOf(step(), false, "no"), "none");
  assert.equal(callOf(null, false, "no"), "none");
  assert.equal(callOf(null, true, "no"), "lost");
  assert.equal(callOf(null, true, "failing"), "alarm");
  assert.equal(callOf(alarms(warning, alarm), false, "no"), "alarm");
  assert.equal(callOf(alarms(warning, { ...alarm, acknowledged: true }), false, "no"), "warning");
  assert.equal(callOf({ ...alarms(warning), snoozed_until: "2026-11-26T22:00:00Z" } as WatchStep, false, "no"), "none");
});
