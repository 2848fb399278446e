import { axis, distance, ground, level, mass, type Measure, type Table } from "./views";
import { bearing, up, type Model, type Placed } from "./solids";
import type { Guide, View } from "./sheet";
import { add, cross, dot, norm, scale, sub, sum, turn, type Vec } from "./vec";

const where = "(support\\.obstacles|mount\\.parts|tube\\.parts|parts)\\[(\\d+)\\]";

/** The views of a frame, along each of its axes. */
function views(p: Placed): View[] {
  const [x, y, z] = p.frame;
  if (p.frameName === "ground") {
    return [
      { right: x, up: y, seen: "from above, north up" },
      { right: x, up: z, seen: "from the south" },
      { right: scale(-1, y), up: z, seen: "from the east" },
    ];
  }
  return [
    { right: z, up: x, seen: "from the side, the front of the tube to the right" },
    { right: y, up: x, seen: "along the tube, from its back end" },
    { right: z, up: scale(-1, y), seen: "from above the tube, its front to the right" },
  ];
}

/** The view that shows a line least foreshortened, and the first of equals. */
function best(p: Placed, line: Vec): View {
  const all = views(p);
  const length = (v: View) => Math.hypot(dot(line, v.right), dot(line, v.up));
  return all.reduce((b, v) => (length(v) > length(b) + 1e-6 ? v : b));
}

const shows = (p: Placed) => (p.frameName === "ground" ? undefined : ["mount", "tube", "parts"]);

function guides(m: Model, p: Placed, view: View): Guide[] {
  if (p.frameName !== "ground") return [axis(p.origin, p.frame[0], 120), axis(p.origin, p.frame[2], 200)];
  if (view.up === up || dot(view.up, up) > 0.9) return [{ ...ground(m, (Math.atan2(view.right[0], view.right[1]) * 180) / Math.PI) }];
  return [{ kind: "arrow", from: [0, 0, 0], to: scale(700, bearing(0)), word: "N" }];
}

const name = (m: Model, path: string) => m.figures.word(`${path}.name`) ?? "part";

/** What each size of a shape is, and along which of its axes it lies. */
const sizes: Record<string, readonly (readonly [string, 0 | 1 | 2])[]> = {
  box: [["first width", 0], ["second width", 1], ["height, along its own axis", 2]],
  cylinder: [["diameter", 0], ["length", 2]],
  cone: [["diameter at its lower end", 0], ["diameter at its upper end", 0], ["length", 2]],
  capsule: [["diameter", 0], ["length between the centres of its round ends", 2]],
  sphere: [["diameter", 0]],
};

const coordinates: Record<string, readonly [string, string, string]> = {
  ground: ["east of the support's centre", "north of the support's centre", "above the ground"],
  tube: ["out from the middle of the saddle", "aside of the middle of the saddle", "forward of the middle of the saddle, along the tube"],
  arm: ["from the crossing of the axes towards the saddle", "aside of the crossing of the axes", "from the crossing towards the pole"],
};

export const extraMeasures: Table = [
  [
    new RegExp(`^${where}\\.size_mm\\[(\\d)\\]$`),
    (m, [path, list, i, k]) => {
      const of = `${list ?? ""}[${i ?? ""}]`;
      const p = m.placed(of);
      const shape = m.shape(of);
      const [what, along] = sizes[shape]?.[Number(k)] ?? ["size", 0];
      const half = m.n(path) / 2;
      const axisOf = p.axes[along];
      const view = best(p, axisOf);
      // A round part shows its diameter across the sheet, wherever its own first axis points.
      const round = shape !== "box" && along === 0;
      const dir = round ? flatAcross(view, p.axes[2], shape === "sphere") : axisOf;
      const shift = shape === "cone" && along === 0 ? scale(((Number(k) === 0 ? -1 : 1) * m.n(`${of}.size_mm[2]`)) / 2, p.axes[2]) : ([0, 0, 0] as Vec);
      // Along an edge that the view shows, not through the middle.
      const edge = edgeOf(m, of, p, dir, view);
      const centre = add(shape === "cone" && along === 0 ? add(p.centre, shift) : p.centre, edge);
      return made(m, of, p, round ? viewAcross(view, dir, p) : view, distance(add(centre, scale(-half, dir)), add(centre, scale(half, dir)), 1), `The ${what} of the ${name(m, of)}.`);
    },
  ],
  [
    new RegExp(`^${where}\\.at_mm\\[(\\d)\\]$`),
    (m, [, list, i, k]) => {
      const of = `${list ?? ""}[${i ?? ""}]`;
      const p = m.placed(of);
      const dir = p.frame[Number(k)] ?? up;
      const view = best(p, dir);
      const value = dot(sub(p.centre, p.origin), dir);
      const measured = made(m, of, p, view, distance(sum([1, p.centre], [-value, dir]), p.centre, 1, dir), `How far the middle of the ${name(m, of)} is ${(coordinates[p.frameName] ?? coordinates.arm)?.[Number(k)] ?? ""}.`);
      return { ...measured, guides: [...(measured.guides ?? []), { kind: "axis", from: p.origin, to: sum([1, p.centre], [-value, dir]) }] };
    },
  ],
  [
    new RegExp(`^${where}\\.turn_deg$`),
    (m, [path, list, i]) => {
      const of = `${list ?? ""}[${i ?? ""}]`;
      const p = m.placed(of);
      const deg = m.n(path);
      const zero = turn(p.axes[0], p.axes[2], -deg);
      const view: View = { right: zero, up: turn(p.axes[1], p.axes[2], -deg), seen: `along the own axis of the ${name(m, of)}` };
      const radius = Math.max(60, 0.8 * Math.max(m.n(`${of}.size_mm[0]`), m.n(`${of}.size_mm[1]`)));
      return {
        view,
        of,
        show: [of],
        mark: { kind: "angle", at: p.centre, from: zero, to: p.axes[0], radius },
        text: `How the ${name(m, of)} is turned about its own axis.`,
        guides: [axis(p.centre, zero, 0, radius * 1.2), axis(p.centre, p.axes[0], radius * 0.6, radius * 1.2)],
      };
    },
  ],
  [
    /^cables\[(\d+)\]\.length_mm$/,
    (m, [path]) => ({
      view: level(m.poleBearing),
      of: "",
      mark: distance(scale(-m.n(path) / 2, bearing(m.poleBearing)), scale(m.n(path) / 2, bearing(m.poleBearing)), -1),
      text: "How long the cable is from the plug's end to the box, laid out straight.",
      guides: [ground(m, m.poleBearing)],
    }),
  ],
  [
    new RegExp(`^${where}\\.mass_kg$`),
    (m, [, list, i]) => {
      const of = `${list ?? ""}[${i ?? ""}]`;
      const p = m.placed(of);
      return made(m, of, p, views(p)[0] as View, mass(p.centre), `What the ${name(m, of)} weighs.`);
    },
  ],
];

const made = (m: Model, of: string, p: Placed, view: View, mark: Measure["mark"], text: string): Measure => ({ view, of, mark, text, show: shows(p), guides: guides(m, p, view) });

/** Square to a round part's axis, in the plane of the view where that is possible. */
function flatAcross(view: View, axisOf: Vec, ball: boolean): Vec {
  if (ball) return view.right;
  const n = cross(view.right, view.up);
  const across = cross(axisOf, n);
  return norm(across) > 0.05 ? scale(1 / norm(across), across) : view.right;
}

const viewAcross = (view: View, dir: Vec, p: Placed) => (Math.hypot(dot(dir, view.right), dot(dir, view.up)) > 0.9 ? view : best(p, dir));

/** From the part's middle to the side of it that faces up or right in the view, square to a direction. */
function edgeOf(m: Model, of: string, p: Placed, dir: Vec, view: View): Vec {
  if (m.shape(of) !== "box") return [0, 0, 0];
  const axesLeft = p.axes.map((a, k) => [a, m.n(`${of}.size_mm[${k}]`)] as const).filter(([a]) => Math.abs(dot(a, dir)) < 0.9);
  const seen = (a: Vec) => Math.hypot(dot(a, view.right), dot(a, view.up));
  const [a, size] = axesLeft.reduce((b, c) => (seen(c[0]) > seen(b[0]) ? c : b));
  const s = dot(a, view.up) + 0.5 * dot(a, view.right) < 0 ? -1 : 1;
  return scale((s * size) / 2, a);
}
