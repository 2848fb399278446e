import { axes, axis, distance, end, mass, side, station, type Measure, type Table } from "./views";
import { plate } from "./measures_mount";
import type { Model } from "./solids";
import type { View } from "./sheet";
import { sum } from "./vec";

const head = ["mount", "tube"];

const beside = (m: Model, of: string, mark: Measure["mark"], text: string, more: Measure["guides"] = []): Measure => ({
  view: side(m),
  of,
  mark,
  text,
  show: head,
  guides: [...axes(m), station(m), ...more],
});

/** The tube turned about its axis so that a guide tube is on top. */
const guideView = (m: Model, i: number): { view: View; out: readonly [number, number, number] } => {
  const [x, y] = m.guide(i);
  const r = Math.hypot(x, y) || 1;
  const out = sum([x / r, m.x], [y / r, m.y]);
  return { view: { right: m.z, up: out, seen: "from the side, the front of the tube to the right, the guide tube on top" }, out };
};

export const tubeMeasures: Table = [
  [
    /^tube\.axis_distance_mm$/,
    (m) => beside(m, "tube.sections", distance(m.home(m.saddle, 0, 0), m.tubeAt(0, 0, -m.slide), 1), "From the face of the saddle that the dovetail is clamped on, square to it, to the middle of the tube.", [
      { kind: "edge", from: m.home(m.saddle, 0, -200), to: m.home(m.saddle, 0, 200) },
    ]),
  ],
  [
    /^tube\.slide_mm$/,
    (m) => {
      const radius = m.n("tube.sections[0].diameter_mm", 100) / 2;
      return beside(m, "tube.sections[0]", distance(m.tubeAt(radius, 0, -m.slide), m.tubeAt(radius, 0, 0), 1, m.z), "How far the tube was moved forward in its rings since the stations were measured.");
    },
  ],
  [/^tube\.(dovetail|top_rail)\.(at_mm|length_mm|width_mm|thickness_mm|mass_kg)$/, (m, [, of, key]) => plate(m, `tube.${of ?? ""}`, key ?? "", of === "dovetail" ? "dovetail" : "rail on the far side of the tube")],
  [
    /^tube\.sections\[(\d+)\]\.(from_mm|to_mm|diameter_mm|end_diameter_mm|mass_kg)$/,
    (m, [path, i, key]) => {
      const of = `tube.sections[${i ?? ""}]`;
      const name = m.figures.word(`${of}.name`) ?? "piece";
      const [from, to, half] = [m.n(`${of}.from_mm`), m.n(`${of}.to_mm`), m.n(`${of}.diameter_mm`) / 2];
      switch (key) {
        case "from_mm":
        case "to_mm":
          return beside(m, of, distance(m.home(m.saddle, 0, 0), m.tubeAt(-half, 0, m.n(path)), -1, m.z), `From the middle of the saddle, along the tube, to the ${key === "from_mm" ? "back" : "front"} end of the ${name}; forward positive.`);
        case "mass_kg":
          return beside(m, of, mass(m.tubeAt(half * 0.4, 0, (from + to) / 2)), `What the ${name} weighs.`);
        default: {
          // A main tube's diameter is marked at its free end, where nothing lies before it.
          const r = m.n(path) / 2;
          const at = key === "end_diameter_mm" || to > 0 ? to : from;
          const forward = at === to;
          return beside(m, of, distance(m.tubeAt(-r, 0, at), m.tubeAt(r, 0, at), forward ? -1 : 1), `Across the ${name}, outside${key === "end_diameter_mm" ? ", at its front end" : ""}.`);
        }
      }
    },
  ],
  [
    /^tube\.guide_tubes\[(\d+)\]\.(from_mm|to_mm|diameter_mm|mass_kg|beside_mm|angle_deg)$/,
    (m, [path, index, key]) => {
      const i = Number(index);
      const of = `tube.guide_tubes[${i}]`;
      const name = m.figures.word(`${of}.name`) ?? "guide tube";
      const [x, y] = m.guide(i);
      const [from, to, half] = [m.n(`${of}.from_mm`), m.n(`${of}.to_mm`), m.n(`${of}.diameter_mm`) / 2];
      const middle = m.tubeAt(0, 0, from);
      const centre = m.tubeAt(x, y, from);
      if (key === "beside_mm" || key === "angle_deg") {
        return {
          view: end(m),
          of,
          show: head,
          guides: [axis(middle, m.x, 160), axis(middle, m.y, 120)],
          mark:
            key === "beside_mm"
              ? distance(middle, centre, 1)
              : { kind: "angle", at: middle, from: m.x, to: guideView(m, i).out, radius: Math.max(80, m.n(`${of}.beside_mm`) + half + 20) },
          text: key === "beside_mm" ? `From the middle of the tube to the middle of the ${name}.` : `Where the ${name} sits about the tube: 0° is away from the saddle, 90° to the right as seen from the back end.`,
        };
      }
      const { view, out } = guideView(m, i);
      const r = m.n(`${of}.beside_mm`);
      const p = (o: number, s: number) => sum([1, m.tubeAt(0, 0, s)], [o, out]);
      const base = { view, of, show: head, guides: [axis(m.tubeAt(0, 0, 0), m.z, 330), axis(p(r, (from + to) / 2), m.z, 60 + (to - from) / 2), station(m)] };
      if (key === "diameter_mm") return { ...base, mark: distance(p(r - half, to), p(r + half, to), -1), text: `Across the ${name}.` };
      if (key === "mass_kg") return { ...base, mark: mass(p(r, (from + to) / 2)), text: `What the ${name} weighs.` };
      return {
        ...base,
        mark: distance(m.home(m.saddle, 0, 0), p(r + half, m.n(path)), 1, m.z),
        text: `From the middle of the saddle, along the tube, to the ${key === "from_mm" ? "back" : "front"} end of the ${name}; forward positive.`,
      };
    },
  ],
];

