import { axis, distance, mass, side, station, type Measure, type Table } from "./views";
import type { Model } from "./solids";
import type { View } from "./sheet";
import { add, scale, sum, turn } from "./vec";

const shown = ["mount.saddle", "mount.declination_housing", "tube"];

/** The train in full length: from the side, or for a side outlet with the tube turned so that the train points up. */
function along(m: Model): View {
  if (!m.side) return side(m);
  return { right: m.z, up: scale(-1, m.train.axes[2]), seen: "from the side, the front of the tube to the right, the tube turned so that the train points up" };
}

/** Along the train, from its far end towards the tube. */
const facing = (m: Model): View => ({ right: m.train.axes[1], up: m.train.axes[0], seen: "along the imaging train, from its far end" });

/** A point of the train, so far out and so far beside its axis as the view along it shows. */
const at = (m: Model, out: number, beside = 0) => add(m.train.origin, sum([-out, m.train.axes[2]], [beside, m.side ? m.z : m.x]));

const total = (m: Model) => Math.max(0, ...m.spans.map((s) => s.to));

const train = (m: Model, of: string, mark: Measure["mark"], text: string, more: Measure["guides"] = []): Measure => ({
  view: along(m),
  of,
  mark,
  text,
  show: shown,
  guides: [axis(m.tubeAt(0, 0, 0), m.z, 330), axis(at(m, 0), m.train.axes[2], total(m) + 40, 40), ...more],
});

/** An item's middle and half widths as the view along the train shows them. */
function seen(m: Model, i: number): { middle: number; half: number } {
  const u = m.side ? m.z : m.x;
  const points = m.itemHull(i, 0, 1).map((p) => {
    const d = sum([1, p], [-1, m.train.origin]);
    return d[0] * u[0] + d[1] * u[1] + d[2] * u[2];
  });
  const [low, high] = [Math.min(...points), Math.max(...points)];
  return { middle: (low + high) / 2, half: (high - low) / 2 };
}

const names = (m: Model, i: number) => m.figures.word(`tube.train.items[${i}].name`) ?? `item ${i + 1} of the train`;

export const trainMeasures: Table = [
  [
    /^tube\.train\.from_mm$/,
    (m) =>
      train(m, "tube.train", distance(m.home(m.saddle, 0, 0), m.tubeAt(0, 0, m.n("tube.train.from_mm")), -1, m.z),
        m.side ? "From the middle of the saddle, along the tube, to the middle of the focuser; forward positive." : "From the middle of the saddle, along the tube, to where the imaging train starts; forward positive, so that it is negative behind.",
        [station(m)]),
  ],
  [
    /^tube\.train\.start_mm$/,
    (m) => train(m, "tube.train", distance(m.tubeAt(0, 0, m.n("tube.train.from_mm")), m.train.origin, 1), "From the middle of the tube out to where the imaging train starts."),
  ],
  [
    /^tube\.train\.side_angle_deg$/,
    (m) => {
      const middle = m.tubeAt(0, 0, m.n("tube.train.from_mm"));
      return {
        view: { right: m.y, up: m.x, seen: "along the tube, from its back end" },
        of: "tube.train",
        show: ["mount", "tube"],
        mark: { kind: "angle", at: middle, from: m.x, to: scale(-1, m.train.axes[2]), radius: m.n("tube.train.start_mm", 100) + 60 },
        text: "Where the train leaves the tube, about it: 0° is away from the saddle, 90° to the right as seen from the back end.",
        guides: [axis(middle, m.x, 200, 260), axis(middle, m.y, 150)],
      };
    },
  ],
  [
    /^tube\.train\.rotator\.angle_deg$/,
    (m) => {
      const [x, y, z] = m.train.axes;
      const turned = turn(x, z, m.n("tube.train.rotator.angle_deg"));
      const far = at(m, total(m));
      return {
        view: facing(m),
        of: "tube.train.items",
        show: shown,
        mark: { kind: "angle", at: far, from: x, to: turned, radius: 150 },
        text: `How the train is turned about its axis: 0° puts an item's width ${m.side ? "forward along the tube" : "away from the declination axis"}, clockwise positive as seen from its far end.`,
        guides: [axis(far, x, 130, 190), axis(far, y, 130), axis(far, turned, 0, 190)],
      };
    },
  ],
  [
    /^tube\.train\.items$/, // all of it: what a new rig is asked for
    (m) => train(m, "tube.train", distance(at(m, 0), at(m, total(m)), 1), "From the tube to the very end of the imaging train, the bend of the cables counted in."),
  ],
  [
    /^tube\.train\.items\[(\d+)\]\.(length_mm|travel_mm|diameter_mm|mass_kg)$/,
    (m, [path, index, key]) => {
      const i = Number(index);
      const span = m.spans[i];
      if (!span) return undefined;
      const of = `tube.train.items[${i}]`;
      const { middle, half } = seen(m, i);
      switch (key) {
        case "length_mm":
          return train(m, of, distance(at(m, span.from, middle + half), at(m, span.to, middle + half), -1), `How long the ${names(m, i)} is, along the train.`);
        case "travel_mm": {
          const travel = m.n(path);
          return {
            ...train(m, of, distance(at(m, span.to, middle + half), at(m, span.to + travel, middle + half), -1, scale(-1, m.train.axes[2])), `How much further out the ${names(m, i)} can rack than it is now.`),
            ghosts: travel > 0 ? [{ of, points: m.itemHull(i, span.to, span.to + travel) }] : [],
          };
        }
        case "mass_kg":
          return train(m, of, mass(at(m, (span.from + span.to) / 2, middle)), `What the ${names(m, i)} weighs.`);
        default: {
          const r = m.n(path) / 2;
          return train(m, of, distance(at(m, span.to, middle - r), at(m, span.to, middle + r), m.side ? 1 : -1), `Across the ${names(m, i)} at its widest, screws counted in.`);
        }
      }
    },
  ],
  [
    /^tube\.train\.items\[(\d+)\]\.(width_mm|height_mm|offset_x_mm|offset_y_mm)$/,
    (m, [path, index, key]) => {
      const i = Number(index);
      const span = m.spans[i];
      if (!span) return undefined;
      const of = `tube.train.items[${i}]`;
      const n = (k: string) => m.n(`${of}.${k}`);
      const [ox, oy] = [n("offset_x_mm"), n("offset_y_mm")];
      const [w, h] = [(m.has(`${of}.width_mm`) ? n("width_mm") : n("diameter_mm")) / 2, (m.has(`${of}.height_mm`) ? n("height_mm") : n("diameter_mm")) / 2];
      const p = (x: number, y: number) => m.itemAt(i, x, y, span.to);
      const [ax, ay] = m.itemAxes(i);
      const base = { view: facing(m), of, show: shown, guides: [axis(p(0, 0), ax, 150), axis(p(0, 0), ay, 150)] };
      switch (key) {
        case "width_mm":
          return { ...base, mark: distance(p(ox - m.n(path) / 2, oy + h), p(ox + m.n(path) / 2, oy + h), -1), text: `The width of the ${names(m, i)}, across the train.` };
        case "height_mm":
          return { ...base, mark: distance(p(ox + w, oy - m.n(path) / 2), p(ox + w, oy + m.n(path) / 2), 1), text: `The height of the ${names(m, i)}, across the train and square to its width.` };
        case "offset_x_mm":
          return { ...base, mark: distance(p(0, oy), p(ox, oy), 1, ax), text: `From the middle of the train to the middle of the ${names(m, i)}, along its width.` };
        default:
          return { ...base, mark: distance(p(ox, 0), p(ox, oy), 1, ay), text: `From the middle of the train to the middle of the ${names(m, i)}, along its height.` };
      }
    },
  ],
];
