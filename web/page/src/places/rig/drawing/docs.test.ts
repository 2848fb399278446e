import assert from "node:assert/strict";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { test } from "node:test";

import { draw, figuresOf, type Sheet } from ".";

// The drawings of docs/measure.md are the page's own, of the example rigs; UPDATE=1 npm test writes them anew.
const folder = "../../docs/drawings";
const drawings: Record<string, Record<string, string>> = {
  "terrace-long-refractor": {
    "support-height": "support.height_mm",
    "leg-hip-radius": "support.legs.hip_radius_mm",
    "leg-foot-radius": "support.legs.foot_radius_mm",
    "leg-width": "support.legs.width_mm",
    "crossing-height": "mount.crossing.height_mm",
    "crossing-offset": "mount.crossing.offset_mm",
    "polar-housing-from": "mount.polar_housing.from_mm",
    "declination-housing-to": "mount.declination_housing.to_mm",
    "saddle-distance": "mount.saddle_distance_mm",
    "bar-end": "mount.counterweights.bar_end_mm",
    "weight-at": "mount.counterweights.weights[0].at_mm",
    "axis-distance": "tube.axis_distance_mm",
    "tube-from": "tube.sections[0].from_mm",
    "dew-shield-to": "tube.sections[3].to_mm",
    "train-from": "tube.train.from_mm",
    "focuser-length": "tube.train.items[0].length_mm",
    "rotator-angle": "tube.train.rotator.angle_deg",
    "wheel-offset": "tube.train.items[4].offset_x_mm",
    "finder-beside": "tube.guide_tubes[0].beside_mm",
  },
  "balcony-strain-wave": {
    "leg-azimuth": "support.legs.first_azimuth_deg",
  },
  "karoo-newtonian": {
    "pier-diameter": "support.diameter_mm",
    "side-angle": "tube.train.side_angle_deg",
    "side-start": "tube.train.start_mm",
  },
};

const all = JSON.parse(readFileSync("src/places/rig/drawing/testdata/figures.json", "utf8")) as Record<string, Record<string, number | string | string[]>>;

for (const [rig, named] of Object.entries(drawings)) {
  const entries = Object.entries(all[rig] ?? {}).filter(([path]) => path !== "quantities");
  const figures = figuresOf(entries.map(([path, value]) => ({ path, value: value as number | string })));
  for (const [name, path] of Object.entries(named)) {
    test(`the docs' drawing ${name} is the page's`, () => {
      const d = draw(figures, path, `${String(figures.number(path))}${path.endsWith("_deg") ? "°" : " mm"}`);
      assert.ok(d, path);
      const file = `${folder}/${name}.svg`;
      const now = svg(d.sheet, d.text);
      if (process.env["UPDATE"]) {
        mkdirSync(folder, { recursive: true });
        writeFileSync(file, now);
      }
      assert.ok(existsSync(file) && readFileSync(file, "utf8") === now, `${file} is not what the page draws: UPDATE=1 npm test`);
      const page = readFileSync("../../docs/measure.md", "utf8");
      assert.ok(page.includes(`drawings/${name}.svg`), `docs/measure.md does not show ${name}`);
    });
  }
}

/** A sheet as a file of its own, in the colours of the light theme; its words are its description. */
function svg(sheet: Sheet, words: string): string {
  const escaped = (s: string) => s.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
  const items = sheet.items.map((i) =>
    i.kind === "path" ? `<path class="${i.style}" d="${i.d}"/>` : `<text class="${i.style}" x="${String(i.x)}" y="${String(i.y)}" text-anchor="${i.anchor}">${escaped(i.text)}</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${String(sheet.width)} ${String(sheet.height)}" width="${String(sheet.width)}" height="${String(sheet.height)}" role="img">
<title>${escaped(words)}</title>
<style>
path { fill: none; stroke: #767676; stroke-width: 1; stroke-linejoin: round }
.part, .clear, .small { fill: #fff }
.marked { fill: #c8dfec; stroke: #111; stroke-width: 1.8 }
.ghost { stroke: #111; stroke-dasharray: 4 3 }
.axis { stroke-width: .8; stroke-dasharray: 10 3 2 3 }
.ground { stroke-width: 2 }
.edge { stroke: #111 }
.extension { stroke: #0068a3; stroke-width: .8 }
.dimension, .frame { stroke: #0068a3; stroke-width: 1.5 }
.arrow { fill: #0068a3; stroke: none }
.small-marked { fill: #0068a3; stroke: #111; stroke-width: .7 }
path.small { stroke-width: .7 }
text { font: 13px sans-serif; fill: #111; stroke: #fff; stroke-width: 4px; paint-order: stroke; stroke-linejoin: round }
.value { font: 600 15px monospace }
</style>
<rect width="100%" height="100%" fill="#fff"/>
${items.join("\n")}
</svg>
`;
}
