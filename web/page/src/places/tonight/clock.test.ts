import assert from "node:assert/strict";
import { test } from "node:test";

import { Clock, down, length, near, offsetOf, up } from "./clock";

test("a clock shows the site's time, and UTC beside it", () => {
  const c = new Clock("Europe/Madrid", "2026-11-25T13:00:00+01:00", "2026-11-26T13:00:00+01:00");
  assert.equal(c.at(Date.parse("2026-11-25T20:02:59Z")), "21:02");
  assert.equal(c.both(Date.parse("2026-11-25T23:30:00Z")), "00:30 (23:30 UTC)");
  const utc = new Clock("UTC", "2026-11-25T12:00:00Z", "2026-11-26T12:00:00Z");
  assert.equal(utc.both(Date.parse("2026-11-25T23:30:00Z")), "23:30");
});

test("what may be used is rounded inwards, what happens to the nearest minute", () => {
  const c = new Clock("Europe/Madrid", "2026-11-25T13:00:00+01:00", "2026-11-26T13:00:00+01:00");
  assert.equal(c.span(["2026-11-25T19:29:58+01:00", "2026-11-25T21:02:15+01:00"]), "19:30–21:02");
  assert.equal(c.span(["2026-11-25T19:29:02+01:00", "2026-11-25T19:30:15+01:00"]), "");
  assert.equal(c.spans([["2026-11-25T19:29:02+01:00", "2026-11-25T19:30:15+01:00"]]), "–");
  const s = "2026-11-25T19:29:31+01:00";
  assert.deepEqual([down(s), up(s), near(s)].map((ms) => c.at(ms)), ["19:29", "19:30", "19:30"]);
});

// Summer time ends on 25 October 2026 at 01:00 UTC (Directive 2000/84/EC): the hour from 2 to 3 comes twice.
test("a night in which the clocks change says the offset of each time", () => {
  const c = new Clock("Europe/Madrid", "2026-10-24T13:59:00+02:00", "2026-10-25T12:59:00+01:00");
  assert.equal(c.at(Date.parse("2026-10-25T00:30:00Z")), "02:30+2");
  assert.equal(c.at(Date.parse("2026-10-25T01:30:00Z")), "02:30+1");
  const hours = c.hours(Date.parse("2026-10-24T22:00:00Z"), Date.parse("2026-10-25T03:00:00Z"));
  assert.deepEqual(hours.map((h) => h.hour), [0, 1, 2, 2, 3, 4]);
  assert.deepEqual(hours.map((h) => h.change).filter((s) => s), ["the clocks change: UTC+1"]);
});

test("zones off by a quarter of an hour keep whole hours of their own", () => {
  const c = new Clock("Asia/Kathmandu", "2026-06-01T12:00:00+05:45", "2026-06-02T12:00:00+05:45");
  const hours = c.hours(Date.parse("2026-06-01T12:00:00Z"), Date.parse("2026-06-01T14:00:00Z"));
  assert.deepEqual(hours.map((h) => h.hour), [18, 19]);
  assert.equal(offsetOf("2026-06-01T12:00:00+05:45"), 345);
  assert.equal(offsetOf("2026-06-01T12:00:00-03:30"), -210);
});

test("a zone that the browser does not know keeps the server's offset", () => {
  const c = new Clock("Nowhere/Atall", "2026-06-01T12:00:00+03:00", "2026-06-02T12:00:00+03:00");
  assert.equal(c.at(Date.parse("2026-06-01T21:00:00Z")), "00:00");
});

test("lengths", () => {
  assert.deepEqual([0, 59.6, 60, 78.2, 605].map(length), ["0 min", "1 h", "1 h", "1 h 18 min", "10 h 05 min"]);
});
