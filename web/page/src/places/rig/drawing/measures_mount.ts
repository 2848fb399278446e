import { above, axes, axis, distance, elevation, end, ground, mass, plan, side, station, type Measure, type Table } from "./views";
import { bearing, up, type Model } from "./solids";
import { add, scale, sum, turn } from "./vec";

const head = ["mount", "tube"];

/** Head and tube from the side, with their axes. */
const beside = (m: Model, of: string, mark: Measure["mark"], text: string): Measure => ({ view: side(m), of, mark, text, show: head, guides: axes(m) });

/** The rig from the side, the pole to the right. */
const whole = (m: Model, of: string, mark: Measure["mark"], text: string): Measure => ({
  view: elevation(m),
  of,
  mark,
  text,
  guides: [ground(m, m.poleBearing), axis([0, 0, m.top], up, m.top * 0.3, m.n("mount.crossing.height_mm") + 40), axis(m.crossing, m.z, 260, 200)],
});

/** An error of zero would not be seen: it is drawn at 8° at least, with its sign. */
const shown = (deg: number) => (deg < 0 ? -1 : 1) * Math.max(8, Math.abs(deg));

export const mountMeasures: Table = [
  [
    /^mount\.base\.(diameter_mm|height_mm|mass_kg)$/,
    (m, [, key]) => {
      const [half, h] = [m.n("mount.base.diameter_mm") / 2, m.n("mount.base.height_mm")];
      const p = (out: number, z: number) => sum([out, m.toPole], [m.top + z, up]);
      if (key === "diameter_mm") return whole(m, "mount.base", distance(p(-half, h), p(half, h)), "Across the round base that turns in azimuth.");
      if (key === "height_mm") return whole(m, "mount.base", distance(p(half, 0), p(half, h), -1), "From the face that the mount stands on up to the top of its round base.");
      return whole(m, "mount.base", mass(p(0, h / 2)), "What the base weighs.");
    },
  ],
  [
    /^mount\.crossing\.height_mm$/,
    (m) => whole(m, "mount.crossing", distance(sum([m.n("mount.crossing.offset_mm"), m.toPole], [m.top, up]), m.crossing, -1), "From the face that the mount stands on, straight up, to where the two axes cross."),
  ],
  [
    /^mount\.crossing\.offset_mm$/,
    (m) => whole(m, "mount.crossing", distance([0, 0, m.crossing[2]], m.crossing, 1, m.toPole), "From the centre line of the support, level, to where the axes cross; towards the elevated pole positive."),
  ],
  [
    /^mount\.polar_axis\.altitude_deg$/,
    (m) => whole(m, "mount.polar_housing", { kind: "angle", at: m.crossing, from: m.toPole, to: m.z, radius: 380 }, "How high the polar axis really points, from level."),
  ],
  [
    /^mount\.polar_axis\.azimuth_error_deg$/,
    (m) => {
      const pole = m.n("site.latitude_deg") < 0 ? 180 : 0;
      const drawn = shown(m.n("mount.polar_axis.azimuth_error_deg"));
      return {
        view: plan,
        of: "mount.polar_housing",
        mark: { kind: "angle", at: [0, 0, m.top], from: bearing(pole), to: bearing(pole + drawn), radius: 620 },
        text: "How far the polar axis points beside the true pole: clockwise positive, seen from above.",
        show: ["support", "mount"],
        guides: [{ kind: "arrow", from: [0, 0, 0], to: scale(760, bearing(0)), word: "N" }, axis([0, 0, 0], bearing(pole + drawn), 200, 700)],
        enlarged: true,
      };
    },
  ],
  [
    /^mount\.zero_errors\.ra_deg$/,
    (m) => {
      const off = turn(scale(-1, m.x), m.z, shown(m.n("mount.zero_errors.ra_deg")));
      return {
        view: end(m),
        of: "mount.counterweights",
        mark: { kind: "angle", at: m.crossing, from: scale(-1, m.x), to: off, radius: m.n("mount.counterweights.bar_end_mm", 300) },
        text: "How far the bar is from hanging straight down when the mount calls it so, the way that the sky turns positive.",
        show: head,
        guides: [axis(m.crossing, off, 0, m.n("mount.counterweights.bar_end_mm", 300) + 60), axis(m.crossing, m.x, m.n("mount.counterweights.bar_end_mm", 300) + 60, 100)],
        enlarged: true,
      };
    },
  ],
  [
    /^mount\.zero_errors\.dec_deg$/,
    (m) => {
      const off = turn(m.z, m.x, -shown(m.n("mount.zero_errors.dec_deg")));
      return {
        view: above(m),
        of: "tube.sections",
        mark: { kind: "angle", at: m.tubeAt(0, 0, 0), from: m.z, to: off, radius: 420 },
        text: "How far the tube is from the pole, about the declination axis, when the mount calls it there.",
        show: head,
        guides: [axis(m.tubeAt(0, 0, 0), m.z, 300, 520), axis(m.tubeAt(0, 0, 0), off, 200, 520)],
        enlarged: true,
      };
    },
  ],
  [
    /^mount\.zero_errors\.cone_deg$/,
    (m) => {
      const at = m.tubeAt(0, 0, 0);
      const off = turn(m.z, m.y, shown(m.n("mount.zero_errors.cone_deg")));
      return { ...beside(m, "tube.sections", { kind: "angle", at, from: m.z, to: off, radius: 420 }, "How far the tube is from square to the declination axis."), guides: [...axes(m), axis(at, off, 200, 520)], enlarged: true };
    },
  ],
  [
    /^mount\.(polar_housing|declination_housing)\.(diameter_mm|from_mm|to_mm|mass_kg)$/,
    (m, [path, of, key]) => {
      const polar = of === "polar_housing";
      const base = `mount.${of ?? ""}`;
      const [from, to, half] = [m.n(`${base}.from_mm`), m.n(`${base}.to_mm`), m.n(`${base}.diameter_mm`) / 2];
      const p = (along: number, out: number) => (polar ? m.home(out, 0, along) : m.home(along, 0, out));
      const which = polar ? "polar" : "declination";
      switch (key) {
        case "diameter_mm":
          return beside(m, base, distance(p(polar ? from : to, -half), p(polar ? from : to, half), 1), `Across the housing around the ${which} axis.`);
        case "mass_kg":
          return beside(m, base, mass(p((from + to) / 2, 0)), `What the housing around the ${which} axis weighs.`);
        default: {
          const target = polar ? "the pole" : "the saddle";
          const which = key === "from_mm" ? `the end away from ${target}` : `the end towards ${target}`;
          return beside(m, base, distance(m.crossing, p(m.n(path), 0), polar ? -1 : 1), `From the crossing of the axes to ${which}; towards ${target} positive.`);
        }
      }
    },
  ],
  [
    /^mount\.counterweights\.(bar_diameter_mm|bar_end_mm|bar_mass_kg)$/,
    (m, [path, key]) => {
      const endAt = -m.n("mount.counterweights.bar_end_mm");
      const of = "mount.counterweights.bar";
      if (key === "bar_end_mm") return beside(m, of, distance(m.crossing, m.home(endAt, 0, 0)), "From the crossing of the axes to the far end of the counterweight bar.");
      if (key === "bar_mass_kg") return beside(m, of, mass(m.home(endAt * 0.95, 0, 0)), "What the bar weighs, without the weights.");
      const half = m.n(path) / 2;
      return beside(m, of, distance(m.home(endAt, 0, -half), m.home(endAt, 0, half), -1), "Across the counterweight bar.");
    },
  ],
  [
    /^mount\.counterweights\.weights\[(\d+)\]\.(at_mm|diameter_mm|thickness_mm|mass_kg)$/,
    (m, [, i, key]) => {
      const of = `mount.counterweights.weights[${i ?? ""}]`;
      const [at, half, thick] = [-m.n(`${of}.at_mm`), m.n(`${of}.diameter_mm`) / 2, m.n(`${of}.thickness_mm`) / 2];
      switch (key) {
        case "at_mm":
          return beside(m, of, distance(m.crossing, m.home(at, 0, 0)), "From the crossing of the axes to the middle of the weight.");
        case "diameter_mm":
          return beside(m, of, distance(m.home(at - thick, 0, -half), m.home(at - thick, 0, half), -1), "Across the weight.");
        case "thickness_mm":
          return beside(m, of, distance(m.home(at - thick, 0, -half), m.home(at + thick, 0, -half), -1), "How thick the weight is, along the bar.");
        default:
          return beside(m, of, mass(m.home(at, 0, 0)), "What the weight weighs.");
      }
    },
  ],
  [
    /^mount\.saddle_distance_mm$/,
    (m) => ({
      ...beside(m, "mount.saddle", distance(m.crossing, m.home(m.saddle, 0, 0), 1), "From the crossing of the axes to the face of the saddle that the dovetail is clamped on."),
      guides: [...axes(m), { kind: "edge", from: m.home(m.saddle, 0, -160), to: m.home(m.saddle, 0, 160) }],
    }),
  ],
  [/^mount\.(saddle)\.(at_mm|length_mm|width_mm|thickness_mm|mass_kg)$/, (m, [, , key]) => plate(m, "mount.saddle", key ?? "", "saddle")],
];

/** The measures of a flat bar along the tube: saddle, dovetail, top rail. */
export function plate(m: Model, of: string, key: string, name: string): Measure {
  const n = (k: string) => m.n(`${of}.${k}`);
  const thick = n("thickness_mm");
  const inner = of === "mount.saddle" ? m.saddle - thick : of === "tube.dovetail" ? m.saddle : m.saddle + 2 * m.axisDistance - m.n("tube.dovetail.thickness_mm");
  const [at, half] = [n("at_mm"), n("length_mm") / 2];
  const low = of !== "tube.top_rail";
  const x = low ? inner : inner + thick;
  switch (key) {
    case "length_mm":
      return beside(m, of, distance(m.home(x, 0, at - half), m.home(x, 0, at + half), low ? -1 : 1), `The length of the ${name}, along the tube.`);
    case "thickness_mm":
      return beside(m, of, distance(m.home(inner, 0, at - half), m.home(inner + thick, 0, at - half), 1), `How thick the ${name} is.`);
    case "at_mm":
      return { ...beside(m, of, distance(m.home(m.saddle, 0, 0), m.home(m.saddle, 0, at), -1, m.z), `From the middle of the saddle to the middle of the ${name}, forward positive.`), guides: [...axes(m), station(m)] };
    case "mass_kg":
      return beside(m, of, mass(m.home(inner + thick / 2, 0, at + half * 0.7)), `What the ${name} weighs.`);
    default: {
      const w = n("width_mm") / 2;
      const p = (y: number) => add(m.home(x, y, at), [0, 0, 0]);
      return { view: end(m), of, mark: distance(p(-w), p(w), low ? -1 : 1), text: `The width of the ${name}, across the tube.`, show: head, guides: [axis(m.crossing, m.x, 100, m.saddle + m.axisDistance + 100)] };
    }
  }
}
