import assert from "node:assert/strict";
import { test } from "node:test";

import { sunWords } from "./when";

const day = { begins: "2026-11-26T10:00:00+01:00", ends: "2026-11-26T12:30:00+01:00", sun: true };
const at = (s: string) => Date.parse(s);

test("a walk says of the Sun only what holds in its hours", () => {
  assert.deepEqual(sunWords(day, at("2026-11-26T11:00:00+01:00")), { text: "The Sun is up: the poses keep away from it until then.", alarm: false });
  assert.match(sunWords(day, at("2026-11-26T12:31:00+01:00")).text, /are over.*choose new poses/);
  assert.match(sunWords(day, at("2026-11-26T09:00:00+01:00")).text, /and not before/);
});

test("a walk by night is no walk for the next day", () => {
  const night = { ...day, begins: "2026-11-25T22:54:00+01:00", ends: "2026-11-26T01:00:00+01:00", sun: false };
  const then = sunWords(night, at("2026-11-25T23:00:00+01:00"));
  assert.ok(then.alarm);
  assert.match(then.text, /Walks are for daylight, with the cap on/);
  assert.match(sunWords(night, at("2026-11-26T11:00:00+01:00")).text, /are over/);
});
