import assert from "node:assert/strict";
import { test } from "node:test";

import type { NightRecord, WatchRecord, WatchSample } from "../../api/shapes";
import { Course, rows, told } from "./record";

const t0 = Date.parse("2026-11-25T20:00:00Z");
const sample = (s: number, ra: number | null, gap: number | null = 100): WatchSample =>
  ({ got: new Date(t0 + s * 1000).toISOString(), ra_axis_deg: ra, dec_axis_deg: ra === null ? null : 40, gap_lower_mm: gap }) as WatchSample;

test("between two samples the axes move evenly, and over a hole not at all", () => {
  const c = new Course([sample(0, 10), sample(1, 12), sample(2, 14), sample(3, 14), sample(600, 50), sample(601, null)]);
  const ra = (s: number) => c.axes(t0 + s * 1000)?.ra;
  assert.equal(ra(-1), undefined);
  assert.equal(ra(0), 10);
  assert.equal(ra(0.5), 11);
  assert.equal(ra(3.5), 14);
  assert.equal(ra(300), undefined); // nothing is known there
  assert.equal(ra(600.5), 50);
  assert.equal(ra(601), undefined);
});

test("a stretch shows its least room, and room that is not known is none", () => {
  const night = { from: new Date(t0).toISOString(), to: new Date(t0 + 7200_000).toISOString() } as NightRecord;
  const c = new Course([sample(0, 1, 90), sample(30, 1, 20), sample(60, 1, 90), sample(4000, 1, 70), sample(4010, 1, null)]);
  assert.deepEqual(rows(night, c).map((r) => r.tightest.gap_lower_mm), [20, null]);
});

test("what was told comes in the order of time, with its level", () => {
  const at = (s: number) => new Date(t0 + s * 1000).toISOString();
  const list = told([
    { at: at(5), kind: "command", command: { name: "tracking off", answer: "no link", ok: false, sent: at(5), ended: at(6) } },
    { at: at(4), kind: "decision", decision: { from: "warned", to: "stopping", cause: "gap", why: "gap 20 mm" } },
    { at: at(1), kind: "event", event: { id: 9, at: at(1), key: "start", level: "note", text: "watching" } },
  ] as WatchRecord[]);
  assert.deepEqual(list.map((e) => [e.level, e.text]), [
    ["note", "watching"],
    ["warning", "From warned to stopping: gap 20 mm"],
    ["warning", "The mount was told: tracking off. no link"],
  ]);
});
