import assert from "node:assert/strict";
import { test } from "node:test";

import { entityOf, groupOf } from "./groups";

test("each path belongs to one thing in one group", () => {
  for (const [path, entity, group] of [
    ["support.height_mm", "support", "support"],
    ["support.legs.width_mm", "support.legs", "support"],
    ["support.allowed_bearings_deg[1]", "support", "support"],
    ["support.obstacles[0].size_mm[2]", "support.obstacles[0]", "extras"],
    ["mount.counterweights.weights[1].at_mm", "mount.counterweights.weights[1]", "mount"],
    ["mount.parts[0].direction[2]", "mount.parts[0]", "extras"],
    ["tube.train.items[2].length_mm", "tube.train.items[2]", "train"],
    ["tube.train.from_mm", "tube.train", "train"],
    ["tube.sections[0].name", "tube.sections[0]", "tube"],
    ["parts[3].at_mm[0]", "parts[3]", "extras"],
    ["conditions[0].name", "conditions[0]", "extras"],
    ["margin_mm", "", "site"],
    ["site.latitude_deg", "site", "site"],
  ] as const) {
    assert.equal(entityOf(path), entity, path);
    assert.equal(groupOf(entityOf(path)), group, path);
  }
});
