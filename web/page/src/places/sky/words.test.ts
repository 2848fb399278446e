import assert from "node:assert/strict";
import { test } from "node:test";

import type { OrderDoc, RowDoc, TwoNumberDoc } from "../../api/shapes";
import { flipWords, offPole, orders, past, spans, startWords, stopWords } from "./words";

const row = (over: object) => ({ stop_h: 0.9, stop_reason: "room", resume_h: -0.7601, resume_reason: "room", flip_h: [], idle_min: 0, cross_h: null, ...over }) as unknown as RowDoc;
const said = (s: string) => s.replaceAll("\u202f", " ");

// The words are those of `legroom limits`; figures of its table for the examples, and of its tests.
test("limits in minutes from the meridian, rounded to the side that takes time away", () => {
  assert.equal(said(stopWords(row({}))), "+54 min");
  assert.equal(said(stopWords(row({ stop_h: -0.5001 }))), "\u221231 min");
  assert.equal(said(stopWords(row({ stop_h: 4, stop_reason: "travel" }))), "+240 min (axis ends)");
  assert.equal(stopWords(row({ stop_h: null, stop_reason: "horizon" })), "no limit (sets first)");
  assert.equal(said(startWords(row({}))), "\u221245 min");
  assert.equal(said(startWords(row({ resume_h: 0 }))), "0 min");
  assert.equal(startWords(row({ resume_h: null, resume_reason: "never_usable" })), "never usable");
  assert.deepEqual(spans([[-0.5, 2.55], [0.101, 0.102]]).map(said), ["\u221230…+153 min"]);
});

test("a flip window, or what to do without one", () => {
  assert.equal(said(flipWords(row({ flip_h: [[0.65, 3.22]] }))), "+39…+193 min");
  assert.equal(said(flipWords(row({ flip_h: [[0.101, 0.102]] }))), "flip proven for less than a minute");
  assert.equal(flipWords(row({ stop_reason: "horizon", stop_h: null })), "no flip needed");
  assert.equal(said(flipWords(row({ stop_h: -0.61, cross_h: 0.58, idle_min: 70 }))), "stop at \u221237 min, flip at +35 min");
  assert.equal(said(flipWords(row({ stop_h: -0.5, resume_h: 0, idle_min: 30 }))), "stop at \u221230 min, start at 0 min *");
  assert.equal(flipWords(row({})), "no flip proven *");
  assert.equal(flipWords(row({ resume_reason: "never_usable" })), "one side only, no flip");
});

test("the two numbers from the meridian", () => {
  assert.equal(said(past(68, "west")), "track until 1 h 08 min past the meridian");
  assert.equal(said(past(68.9, "east")), "start from 1 h 08 min before the meridian");
  assert.equal(said(past(-40, "west")), "track until 40 min before the meridian");
  assert.equal(said(past(-39.6, "east")), "start from 40 min past the meridian");
  assert.equal(past(0, "east"), "start from the meridian");
  assert.equal(past(null, "west"), "go by the axis angle alone");
});

test("what the minutes are worth with a head that is off the pole", () => {
  const two = (off_pole_deg: number, from: number | null, to: number | null) => ({ off_pole_deg, minutes_dec_from_deg: from, minutes_dec_to_deg: to }) as TwoNumberDoc;
  assert.equal(offPole(two(0, -90, 90)), "");
  assert.match(offPole(two(2.391, -53.108, 80)), /points 2\.4° beside the pole.*at declinations \u221253\.1° to 80°; at any other go by the axis angle alone\.$/);
  assert.match(offPole(two(2.4, null, null)), /go by its angle alone\.$/);
});

test("what an unknown order of the axes costs", () => {
  const o = (axis_order: string, mean_flip_min: number, bands_without_flip = 0) => ({ axis_order, mean_flip_min, mean_idle_min: 0, bands_without_flip, bands: 22 }) as OrderDoc;
  assert.deepEqual(orders([]), []);
  const all = orders([o("unknown", 130.9, 3), o("both_at_once", 204.2), o("ra_first", 213), o("dec_first", 59.99)]);
  assert.deepEqual(all.map((x) => [said(x.flip), x.none]), [["2 h 10 min", "3 of 22 bands have none"], ["3 h 24 min", ""], ["3 h 33 min", ""], ["59 min", ""]]);
});
