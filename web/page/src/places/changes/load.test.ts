import assert from "node:assert/strict";
import { test } from "node:test";

import type { LoadDoc } from "../../api/shapes";
import { groups, loops, missing, rounded, table, valueWords, verdict } from "./load";

const at = { side: "west", hour_angle_h: -3.75, dec_deg: -11.25, ra_axis_deg: 33.75, dec_axis_deg: 101.25, tube_is: "west" };
const edge = (found: number, proven: number, height_mm = 0) => ({ found, proven, at, over: "leg 3 – leg 2", towards_deg: 180, height_mm });
const part = (name: string, touch: string, gap_proven_mm: number) => ({ name, touch, gap_mm: gap_proven_mm + 1, gap_proven_mm, at });

const doc = {
  mass_kg: 57.6,
  missing_mass: [],
  unmeasured_masses: ["tube.sections[0].mass_kg", "tube.sections[1].mass_kg"],
  balance: {
    missing_mass: [],
    declination: { mass_kg: 14, centre_along_mm: -8.4, centre_aside_mm: -0.6, moment_n_m: 1.161, slide_mm: 10.02, dovetail_slide_mm: 9.1, aside_kg_mm: -9, left_n_m: 0.08 },
    ra: { mass_kg: 35.4, centre_towards_saddle_mm: 2.4, moment_n_m: 1.69, weights: [], shift_mm: 0, fits: false, lack_kg: 0, left_n_m: 1.69 },
  },
  tipping: { anchored: false, distance_mm: edge(283.2, 282.78), moment_n_m: edge(160, 159.6), push_n: edge(72.6, 71.99, 2211), wind_m_per_s: edge(19.8, 18.6), remedy: { asked_push_n: 80, asked_wind_m_per_s: 0, ballast_kg: 8.41, spread_mm: 94.1 } },
  bending: [{ upright: "column", unknown: "wall_mm", missing_mass: [] }],
  cables: [
    {
      name: "power", length_mm: 2190, reach_mm: 2214, reach_proven_mm: 2214.2, tightest_at: at, slack_mm: -24.2, tied_mm: 2214.2, tied_slack_mm: -24.2, tie: null,
      spans: [{ from: "camera", to: "tray", leave_mm: 1215.1, tightest_at: at, loop_mm: 181.2, loop_within_mm: 607.9, axes: "ra",
        left: { parts: [part("leg 2", "may touch", 0), part("camera", "clear", 14.9), part("tube", "out of reach", 30)] },
        loose: { length_mm: 1332.6, parts: [part("leg 2", "may touch", 0), part("camera", "may touch", 0)] } }],
    },
  ],
} as unknown as LoadDoc;

test("figures are rounded to the side on which the rig stands less", () => {
  assert.equal(rounded(71.99, 1, "down"), "71.9");
  assert.equal(rounded(2214.2, 0, "up"), "2215");
  assert.equal(rounded(-24.2, 0, "down"), "\u221225");
  assert.equal(rounded(350, 0, "near"), "350");
  const said = Object.fromEntries(groups(doc).flatMap((g) => g.figures.map((f) => [f.what, valueWords(f)])));
  assert.equal(said["push that tips it, 2211\u202fmm up"], "71.9\u202fN");
  assert.equal(said["must reach"], "2215\u202fmm");
  assert.equal(said["ballast that would do"], "8.5\u202fkg");
});

test("what it does not stand, and what is not known, is named", () => {
  const alarms = groups(doc).flatMap((g) => g.alarms).join("\n");
  for (const w of ["No counterweight has a mass", "does not stand a push of 80\u202fN", "8.5\u202fkg of ballast", "does not give wall_mm", "25\u202fmm too short"]) assert.ok(alarms.includes(w), `${w}: ${alarms}`);
  assert.match(missing({ ...doc, missing_mass: ["tripod"] }), /tripod.*2 masses are unmeasured/);
  const said = groups({ ...doc, missing_mass: ["tripod", "camera"], balance: { missing_mass: ["camera"], declination: null, ra: null } });
  assert.deepEqual(said.slice(0, 2).flatMap((g) => g.alarms), ["Not known without the mass of camera.", "Not known without the mass of tripod, camera."]);
  assert.ok(said[0]?.figures.length === 0 && said[1]?.figures.length === 0, "figures of a rig that is not known");
  assert.equal(missing({ ...doc, missing_mass: [], unmeasured_masses: [] }), "");
  assert.match(groups({ ...doc, tipping: null }).flatMap((g) => g.alarms).join("\n"), /No part has a mass/);
});

test("loops, and every gap in the file", () => {
  assert.deepEqual(loops(doc), [
    { cable: "power", between: "camera – tray", leave: "1216\u202fmm", hangs: "up to 182\u202fmm, within 608\u202fmm of a tie", touches: "leg 2", nearest: "14\u202fmm or more, camera", reaches: "camera", slides: "1333\u202fmm: camera" },
  ]);
  const rows = table(doc);
  assert.ok(rows.every((r) => r.length === rows[0]?.length));
  assert.equal(rows.filter((r) => String(r[2]).includes("gap to")).length, 5);
});

test("what is not known is not said to be right", () => {
  const cable = { ...doc.cables[0], slack_mm: 5 } as LoadDoc["cables"][number];
  const well = { ...doc, stands_as_asked: true, cables: [cable] };
  assert.deepEqual([verdict(well).ok, verdict({ ...well, stands_as_asked: false }).text], [true, "It does not stand so"]);
  assert.deepEqual(verdict({ ...well, missing_mass: ["tripod"] }), { ok: false, text: "Whether it tips is not known" });
  assert.deepEqual(verdict({ ...doc, missing_mass: ["tripod"] }).text, "Whether it tips is not known, and a cable is too short");
  assert.ok(!verdict({ ...well, tipping: null }).ok);
  const anchored = { ...well, missing_mass: ["pier"], tipping: { ...doc.tipping, anchored: true } } as LoadDoc;
  assert.ok(verdict(anchored).ok && !/tips/.test(verdict(anchored).text));
  const upright = { upright: "column", unknown: "", missing_mass: ["camera"], push_n: 10, wind_m_per_s: 4, carries_kg: 46.9, push_tilt_arcsec: 1, push_deflection_mm: 0.1, wind_tilt_proven_arcsec: 1, wind_tilt_arcsec: 1, wind_at: at, frequency_hz: null, frequency_proven_hz: null };
  const bent = groups({ ...doc, missing_mass: ["camera"], bending: [upright] } as unknown as LoadDoc)[2];
  assert.deepEqual(bent?.figures.filter((f) => f.value === null).map((f) => f.what), ["carries", "first frequency, if all else were rigid"]);
});
