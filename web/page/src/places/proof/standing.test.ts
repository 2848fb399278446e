import assert from "node:assert/strict";
import { test } from "node:test";

import type { WatchStep } from "../../api/shapes";
import { isFar, standing, unfit } from "./standing";

const step = { side: "west", ra_axis_deg: 190, dec_axis_deg: 45 } as const;
const seen = (side: string, how: string, more = {}) =>
  ({ blind: [], sample: { side, side_known_by: how, motion: "still", tracking: "no", parked: "no" }, sides: { west: { ra_axis_deg: -169, dec_axis_deg: 44.5 }, east: { ra_axis_deg: 11, dec_axis_deg: -44.5 } }, ...more }) as unknown as WatchStep;

test("the side is the step's until somebody has looked, and by whole turns as the step has it", () => {
  for (const w of [seen("east", "told"), seen("unknown", "unknown"), seen("west", "confirmed")]) {
    const s = standing(w, step);
    assert.deepEqual(s, { at: { ra: 191, dec: 44.5 }, off: { ra: 1, dec: -0.5 } });
    assert.equal(s && isFar(s), false);
  }
  const other = standing(seen("east", "followed"), step);
  assert.ok(other && isFar(other));
  assert.equal(standing(null, step), null);
  assert.equal(standing(seen("west", "told", { sides: undefined }), step), null);
});

test("no reading counts while the mount moves, or is not seen", () => {
  assert.equal(unfit(seen("west", "told")), "");
  assert.equal(unfit(seen("west", "told", { blind: ["reference", "setup"] })), "");
  assert.match(unfit(seen("west", "told", { blind: ["reference", "old"] })), /Old data/);
  assert.match(unfit(seen("west", "told", { sample: { motion: "tracking", tracking: "yes" } })), /tracks: measure with tracking off/);
  assert.match(unfit(null), /no reading/);
});
