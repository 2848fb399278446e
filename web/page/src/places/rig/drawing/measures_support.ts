import { axis, distance, ground, level, mass, plan, type Measure, type Table } from "./views";
import { bearing, up, type Model } from "./solids";
import type { Guide } from "./sheet";
import { add, mid, scale, sub, sum, type Vec } from "./vec";

const stands = ["support.legs", "support.head", "support.column", "support.tray", "support.spreader", "support.top_plate", "support.diameter_mm", "support.extension", "mount.base"];
const middle: Vec = [0, 0, 0];

/** A sheet of the support from the side with an azimuth to the right, the ground and the centre line. */
const upright = (m: Model, azimuth: number, of: string, mark: Measure["mark"], text: string): Measure => ({
  view: level(azimuth),
  of,
  mark,
  text,
  show: stands,
  guides: [ground(m, azimuth), axis([0, 0, m.top / 2], up, m.top / 2 + 30, m.top / 2 + 60)],
});

const at = (azimuth: number, out: number, height: number): Vec => sum([out, bearing(azimuth)], [height, up]);

/** Across a round part that stands on the centre line. */
const across = (m: Model, of: string, key: string, height: number, text: string): Measure => {
  const half = m.n(key) / 2;
  const az = m.poleBearing;
  return upright(m, az, of, distance(at(az, -half, height), at(az, half, height)), text);
};

/** The wall of a round part that stands on the centre line, at its top. */
const wall = (m: Model, of: string, diameter: string, key: string, height: number): Measure => {
  const az = m.poleBearing;
  const out = m.n(diameter) / 2;
  return upright(m, az, of, distance(at(az, out - m.n(key), height), at(az, out, height)), "How thick the wall is; of a solid one, half of the diameter.");
};

/** A height between two levels, marked beside a part of the given diameter. */
const rise = (m: Model, of: string, diameter: number, from: number, to: number, text: string): Measure => {
  const az = m.poleBearing;
  return upright(m, az, of, distance(at(az, diameter / 2, from), at(az, diameter / 2, to), -1), text);
};

const northArrow = (m: Model): Guide => {
  const reach = 1.4 * Math.max(m.n("support.legs.foot_radius_mm"), m.n("support.diameter_mm"), 300);
  return { kind: "arrow", from: middle, to: [0, reach, 0], word: "N" };
};

/** From the centre line to the middle of the first leg, at the height of its hip. */
const hip = (m: Model) => at(m.firstLeg, m.n("support.legs.hip_radius_mm"), m.hipHeight);
const foot = (m: Model) => at(m.firstLeg, m.n("support.legs.foot_radius_mm"), 0);

function legWidth(m: Model, along: number, key: string, text: string): Measure {
  // Seen square to the width: along the leg's plane for its depth, facing the leg for its width.
  const centre = mid(hip(m), foot(m));
  const dir = bearing(along);
  const half = m.n(key) / 2;
  // Across the leg as the sheet shows it.
  const line = sub(hip(m), foot(m));
  const [u, v] = [line[0] * dir[0] + line[1] * dir[1], line[2]];
  const l = Math.hypot(u, v) || 1;
  const square = sum([v / l, dir], [-u / l, up]);
  return upright(m, along, "support.legs", distance(add(centre, scale(-half, square)), add(centre, scale(half, square)), -1), text);
}

function obliquely(m: Model): Measure {
  const az = m.n("support.out_of_level.azimuth_deg");
  // A small lean would not be seen: it is drawn at 8° at least.
  const lean = Math.max(8, m.n("support.out_of_level.lean_deg"));
  const leaning = sum([Math.sin((lean * Math.PI) / 180), bearing(az)], [Math.cos((lean * Math.PI) / 180), up]);
  return {
    ...upright(m, az, "support.out_of_level", { kind: "angle", at: middle, from: up, to: leaning, radius: m.face * 0.75 }, "How far the centre line of the support leans from the plumb line."),
    guides: [ground(m, az), axis(middle, leaning, 0, m.face * 1.05), axis(middle, up, 0, m.face * 1.05)],
    enlarged: lean > m.n("support.out_of_level.lean_deg"),
  };
}

export const supportMeasures: Table = [
  [
    /^support\.height_mm$/,
    (m) => {
      const az = m.hasLegs ? m.firstLeg + 180 : m.poleBearing;
      const out = Math.max(m.n("support.head.diameter_mm"), m.n("support.top_plate.diameter_mm"), m.n("support.diameter_mm"), 160) / 2;
      return upright(m, az, "support", distance(at(az, out, 0), at(az, out, m.face), -1), "From the ground up to the face that the mount, or an extension, stands on.");
    },
  ],
  [/^support\.diameter_mm$/, (m) => across(m, "support.diameter_mm", "support.diameter_mm", m.face / 2, "Across the pier; of a square one, from corner to corner.")],
  [/^support\.(head|top_plate)\.diameter_mm$/, (m, [path, of]) => across(m, `support.${of ?? ""}`, path, m.face, "Across the plate under the mount, at its widest.")],
  [
    /^support\.(head|top_plate)\.thickness_mm$/,
    (m, [path, of]) => rise(m, `support.${of ?? ""}`, m.n(`support.${of ?? ""}.diameter_mm`), m.face - m.n(path), m.face, "How thick that plate is, from its underside up to the face."),
  ],
  [/^support\.column\.diameter_mm$/, (m, [path]) => across(m, "support.column", path, (m.hipHeight + m.underHead) / 2, "Across the column between the hips of the legs and the head.")],
  [/^support\.extension\.diameter_mm$/, (m, [path]) => across(m, "support.extension", path, m.top, "Across the pier extension at its widest, flanges counted in.")],
  [
    /^support\.extension\.height_mm$/,
    (m) => rise(m, "support.extension", m.n("support.extension.diameter_mm"), m.face, m.top, "How much higher the mount stands with the pier extension."),
  ],
  [/^support\.mass_kg$/, (m) => upright(m, m.poleBearing, "support", mass([0, 0, m.face / 2]), "What the tripod or the pier weighs as a whole, without what has a mass of its own.")],
  [/^support\.wall_mm$/, (m, [path]) => wall(m, "support.diameter_mm", "support.diameter_mm", path, m.face)],
  [
    /^support\.(column|extension)\.wall_mm$/,
    (m, [path, of]) => wall(m, `support.${of ?? ""}`, `support.${of ?? ""}.diameter_mm`, path, of === "column" ? m.underHead : m.top),
  ],
  [
    /^support\.(column|extension)\.mass_kg$/,
    (m, [, of]) => upright(m, m.poleBearing, `support.${of ?? ""}`, mass([0, 0, of === "column" ? (m.hipHeight + m.underHead) / 2 : (m.face + m.top) / 2]), "What it weighs."),
  ],
  [
    /^support\.legs\.first_azimuth_deg$/,
    (m) => {
      const fromPole = m.figures.word("support.legs.azimuth_from") === "polar_axis";
      const zero = fromPole ? m.toPole : bearing(0);
      const radius = 0.62 * m.n("support.legs.foot_radius_mm", 400);
      return {
        view: plan,
        of: "support.legs",
        mark: { kind: "angle", at: middle, from: zero, to: bearing(m.firstLeg), radius },
        text: `Where the first leg points: from ${fromPole ? "the direction of the elevated pole" : "true north"} clockwise to the leg, seen from above.`,
        show: ["support.legs", "support.head", "support.column", "support.tray", "support.spreader", "support.obstacles"],
        guides: [northArrow(m)],
      };
    },
  ],
  [
    /^support\.legs\.hip_radius_mm$/,
    (m) => upright(m, m.firstLeg, "support.legs", distance([0, 0, m.hipHeight], hip(m), 1), "From the centre line, level, to the middle of a leg where it leaves the head or the column."),
  ],
  [
    /^support\.legs\.foot_radius_mm$/,
    (m) => upright(m, m.firstLeg, "support.legs", distance(middle, foot(m), -1), "From below the centre, along the ground, to the middle of a foot."),
  ],
  [
    /^support\.legs\.hip_height_mm$/,
    (m) => upright(m, m.firstLeg, "support.legs", distance(at(m.firstLeg, m.n("support.legs.hip_radius_mm"), 0), hip(m), -1), "From the ground up to the middle of a leg where it meets the column."),
  ],
  [
    /^support\.legs\.width_mm$/,
    (m) => {
      const square = m.has("support.legs.depth_mm") || m.figures.word("support.legs.section") === "square";
      return square
        ? legWidth(m, m.firstLeg + 90, "support.legs.width_mm", "The width of a leg, seen from outside towards the centre.")
        : legWidth(m, m.firstLeg, "support.legs.width_mm", "How thick a leg is at its widest, sleeves and clamps counted in.");
    },
  ],
  [/^support\.legs\.depth_mm$/, (m) => legWidth(m, m.firstLeg, "support.legs.depth_mm", "The depth of a leg, seen from the side: across it, in the plane that it leans in.")],
  [
    /^support\.tray\.(height_mm|diameter_mm|thickness_mm)$/,
    (m, [, key]) => {
      const [d, h, t] = [m.n("support.tray.diameter_mm"), m.n("support.tray.height_mm"), m.n("support.tray.thickness_mm")];
      if (key === "height_mm") return rise(m, "support.tray", d * 0.6, 0, h, "From the ground up to the upper face of the shelf between the legs.");
      if (key === "thickness_mm") return rise(m, "support.tray", d, h - t, h, "How thick that shelf is.");
      return across(m, "support.tray", "support.tray.diameter_mm", h, "Across the shelf between the legs, over its corners.");
    },
  ],
  [
    /^support\.spreader\.(height_mm|width_mm)$/,
    (m, [path, key]) => {
      const h = m.n("support.spreader.height_mm");
      const az = m.firstLeg;
      const out = m.n("support.legs.foot_radius_mm") * 0.45;
      if (key === "height_mm") return upright(m, az, "support.spreader", distance(at(az, out, 0), at(az, out, h), -1), "From the ground up to the middle of the bars that hold the legs.");
      const half = m.n(path) / 2;
      return upright(m, az, "support.spreader", distance(at(az, out, h - half), at(az, out, h + half), -1), "How thick such a bar is.");
    },
  ],
  [/^support\.out_of_level\.lean_deg$/, obliquely],
  [
    /^support\.out_of_level\.azimuth_deg$/,
    (m) => ({
      view: plan,
      of: "support.out_of_level",
      mark: { kind: "angle", at: middle, from: bearing(0), to: bearing(m.n("support.out_of_level.azimuth_deg")), radius: 0.62 * m.n("support.legs.foot_radius_mm", 400) },
      text: "Where the support leans to: from true north clockwise, seen from above.",
      show: ["support.legs", "support.head", "support.column", "support.diameter_mm"],
      guides: [northArrow(m), { kind: "arrow", from: middle, to: scale(m.n("support.legs.foot_radius_mm", 400) * 0.9, bearing(m.n("support.out_of_level.azimuth_deg"))) }],
    }),
  ],
];
