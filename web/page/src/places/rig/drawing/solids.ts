import type { Figures } from "./figures";
import { add, cross, norm, scale, square, sub, sum, turn, unit, type Vec } from "./vec";

/** One convex part by points of its hull, in the world: x east, y north, z up, origin on the ground under the support's centre. */
export interface Solid {
  /** Document path that it follows from, such as `support.legs`. */
  readonly of: string;
  readonly points: readonly Vec[];
}

const sides = 40;

/** A round body between two points, tapering from one diameter to the other. */
export function rod(from: Vec, to: Vec, diameter: number, endDiameter = diameter): Vec[] {
  const axis = unit(sub(to, from));
  const u = square(axis);
  const v = cross(axis, u);
  const out: Vec[] = [];
  for (let i = 0; i < sides; i++) {
    const a = (2 * Math.PI * i) / sides;
    const r = sum([Math.cos(a), u], [Math.sin(a), v]);
    out.push(add(from, scale(diameter / 2, r)), add(to, scale(endDiameter / 2, r)));
  }
  return out;
}

/** A box about its centre, its sizes along three unit vectors. */
export function box(centre: Vec, axes: readonly [Vec, Vec, Vec], size: Vec): Vec[] {
  const out: Vec[] = [];
  for (const i of [-0.5, 0.5]) {
    for (const j of [-0.5, 0.5]) {
      for (const k of [-0.5, 0.5]) {
        out.push(add(centre, sum([i * size[0], axes[0]], [j * size[1], axes[1]], [k * size[2], axes[2]])));
      }
    }
  }
  return out;
}

function ball(centre: Vec, diameter: number): Vec[] {
  const out: Vec[] = [];
  for (let i = 0; i <= 12; i++) {
    const lat = (Math.PI * i) / 12;
    for (let j = 0; j < sides; j++) {
      const a = (2 * Math.PI * j) / sides;
      const r: Vec = [Math.sin(lat) * Math.cos(a), Math.sin(lat) * Math.sin(a), Math.cos(lat)];
      out.push(add(centre, scale(diameter / 2, r)));
    }
  }
  return out;
}

export const up: Vec = [0, 0, 1];

/** A horizontal direction by its azimuth, degrees clockwise from true north seen from above. */
export function bearing(deg: number): Vec {
  const a = (deg * Math.PI) / 180;
  return [Math.sin(a), Math.cos(a), 0];
}

/** The three axes of an extra part and its centre, in the world. */
export interface Placed {
  readonly centre: Vec;
  readonly axes: readonly [Vec, Vec, Vec];
  /** The frame that it is measured in: its origin and axes. */
  readonly origin: Vec;
  readonly frame: readonly [Vec, Vec, Vec];
  readonly frameName: string;
}

/**
 * The rig with the counterweights down and the tube at the pole, when the axes of head, arm and tube frame are the same: x from
 * the crossing out to the tube, z along the polar axis, y = z × x. It follows the way in which the program assembles a rig; a
 * support out of level is drawn upright.
 */
export class Model {
  readonly figures: Figures;
  /** Where the axes cross. */
  readonly crossing: Vec;
  readonly x: Vec;
  readonly y: Vec;
  readonly z: Vec;
  readonly toPole: Vec;
  readonly poleBearing: number;
  readonly altitude: number;
  /** Heights above the ground: the support's face, and the one that the mount stands on. */
  readonly face: number;
  readonly top: number;
  readonly underHead: number;
  readonly hipHeight: number;
  readonly hasLegs: boolean;
  readonly firstLeg: number;
  readonly saddle: number;
  readonly axisDistance: number;
  readonly slide: number;
  readonly side: boolean;
  /** Stations along the train at which each item starts and ends. */
  readonly spans: readonly { from: number; to: number }[];
  readonly solids: Solid[] = [];

  constructor(figures: Figures) {
    this.figures = figures;
    const n = (path: string, otherwise = 0) => figures.number(path) ?? otherwise;
    const latitude = n("site.latitude_deg", 45);
    this.poleBearing = (latitude < 0 ? 180 : 0) + n("mount.polar_axis.azimuth_error_deg");
    this.altitude = n("mount.polar_axis.altitude_deg", Math.abs(latitude));
    this.toPole = bearing(this.poleBearing);
    const a = (this.altitude * Math.PI) / 180;
    this.z = sum([Math.cos(a), this.toPole], [Math.sin(a), up]);
    this.x = sum([-Math.sin(a), this.toPole], [Math.cos(a), up]);
    this.y = cross(this.z, this.x);

    this.face = n("support.height_mm");
    this.top = this.face + n("support.extension.height_mm");
    this.underHead = this.face - n("support.head.thickness_mm");
    this.hasLegs = figures.number("support.legs.foot_radius_mm") !== undefined;
    this.hipHeight = n("support.legs.hip_height_mm", this.underHead);
    const fromPole = figures.word("support.legs.azimuth_from") === "polar_axis";
    this.firstLeg = n("support.legs.first_azimuth_deg") + (fromPole ? this.poleBearing : 0);
    this.crossing = sum([n("mount.crossing.offset_mm"), this.toPole], [this.top + n("mount.crossing.height_mm"), up]);

    this.saddle = n("mount.saddle_distance_mm");
    this.axisDistance = n("tube.axis_distance_mm");
    this.slide = n("tube.slide_mm");
    this.side = figures.word("tube.train.outlet") === "side" || figures.number("tube.train.start_mm") !== undefined;
    const spans: { from: number; to: number }[] = [];
    let end = 0;
    for (let i = 0; i < figures.entries("tube.train.items"); i++) {
      const length = n(`tube.train.items[${i}].length_mm`);
      if (figures.word(`tube.train.items[${i}].beside`) === "true") {
        spans.push({ from: end - length, to: end });
      } else {
        spans.push({ from: end, to: (end += length) });
      }
    }
    this.spans = spans;

    this.support();
    this.mount();
    this.tube();
    for (const list of ["support.obstacles", "mount.parts", "tube.parts", "parts"]) {
      for (let i = 0; i < figures.entries(list); i++) this.extra(`${list}[${i}]`);
    }
  }

  n(path: string, otherwise = 0): number {
    return this.figures.number(path) ?? otherwise;
  }

  has(path: string): boolean {
    return this.figures.number(path) !== undefined;
  }

  /** A point of head, arm and tube frame, from the crossing. */
  home(x: number, y: number, z: number): Vec {
    return add(this.crossing, sum([x, this.x], [y, this.y], [z, this.z]));
  }

  /** A point about the tube's axis: out, aside, and its station, slide counted in. */
  tubeAt(x: number, y: number, station: number): Vec {
    return this.home(this.saddle + this.axisDistance + x, y, this.slide + station);
  }

  leg(i: number): number {
    return this.firstLeg + (360 * i) / this.n("support.legs.count", 3);
  }

  private add(of: string, points: Vec[]) {
    this.solids.push({ of, points });
  }

  private upright(of: string, from: number, to: number, diameter: number) {
    this.add(of, rod([0, 0, from], [0, 0, to], diameter));
  }

  private support() {
    const n = this.n.bind(this);
    if (this.has("support.extension.height_mm")) {
      this.upright("support.extension", this.face, this.top, n("support.extension.diameter_mm", 150));
    }
    if (this.has("support.head.diameter_mm")) {
      this.upright("support.head", this.underHead, this.face, n("support.head.diameter_mm"));
    }
    if (this.hasLegs) {
      const width = n("support.legs.width_mm", 40);
      const square = this.figures.word("support.legs.section") === "square" || this.has("support.legs.depth_mm");
      for (let i = 0; i < n("support.legs.count", 3); i++) {
        const out = bearing(this.leg(i));
        const foot = scale(n("support.legs.foot_radius_mm"), out);
        const hip = sum([n("support.legs.hip_radius_mm"), out], [this.hipHeight, up]);
        if (!square) {
          this.add("support.legs", rod(foot, hip, width));
          continue;
        }
        const along = unit(sub(hip, foot));
        const tangent = unit(cross(along, out));
        const size: Vec = [width, n("support.legs.depth_mm", width), norm(sub(hip, foot))];
        this.add("support.legs", box(scale(0.5, add(hip, foot)), [tangent, cross(along, tangent), along], size));
      }
    }
    if (this.has("support.column.diameter_mm")) {
      this.upright("support.column", this.hipHeight, this.underHead, n("support.column.diameter_mm"));
    }
    if (this.has("support.tray.height_mm")) {
      const h = n("support.tray.height_mm");
      this.upright("support.tray", h - n("support.tray.thickness_mm"), h, n("support.tray.diameter_mm"));
    }
    if (this.has("support.spreader.height_mm")) {
      const h = n("support.spreader.height_mm");
      const foot = n("support.legs.foot_radius_mm");
      const out = foot + ((n("support.legs.hip_radius_mm") - foot) * h) / (this.hipHeight || 1);
      for (let i = 0; i < n("support.legs.count", 3); i++) {
        const end = sum([out, bearing(this.leg(i))], [h, up]);
        this.add("support.spreader", rod([0, 0, h], end, n("support.spreader.width_mm", 10)));
      }
    }
    if (this.has("support.diameter_mm")) {
      this.upright("support.diameter_mm", 0, this.face - n("support.top_plate.thickness_mm"), n("support.diameter_mm"));
    }
    if (this.has("support.top_plate.diameter_mm")) {
      const from = this.face - n("support.top_plate.thickness_mm");
      this.upright("support.top_plate", from, this.face, n("support.top_plate.diameter_mm"));
    }
  }

  private mount() {
    const n = this.n.bind(this);
    if (this.has("mount.base.diameter_mm")) {
      this.upright("mount.base", this.top, this.top + n("mount.base.height_mm"), n("mount.base.diameter_mm"));
    }
    const polar = "mount.polar_housing";
    this.add(polar, rod(this.home(0, 0, n(`${polar}.from_mm`)), this.home(0, 0, n(`${polar}.to_mm`)), n(`${polar}.diameter_mm`)));
    const dec = "mount.declination_housing";
    this.add(dec, rod(this.home(n(`${dec}.from_mm`), 0, 0), this.home(n(`${dec}.to_mm`), 0, 0), n(`${dec}.diameter_mm`)));
    const cw = "mount.counterweights";
    if (this.has(`${cw}.bar_end_mm`)) {
      this.add(`${cw}.bar`, rod(this.home(n(`${dec}.from_mm`), 0, 0), this.home(-n(`${cw}.bar_end_mm`), 0, 0), n(`${cw}.bar_diameter_mm`, 20)));
      for (let i = 0; i < this.figures.entries(`${cw}.weights`); i++) {
        const w = `${cw}.weights[${i}]`;
        const [at, half] = [n(`${w}.at_mm`), n(`${w}.thickness_mm`) / 2];
        this.add(w, rod(this.home(half - at, 0, 0), this.home(-half - at, 0, 0), n(`${w}.diameter_mm`)));
      }
    }
    this.plate("mount.saddle", this.saddle - n("mount.saddle.thickness_mm"));
  }

  /** A flat bar along the tube whose inner face is at x. */
  private plate(of: string, x: number) {
    if (!this.has(`${of}.length_mm`)) return;
    const n = (key: string) => this.n(`${of}.${key}`);
    const centre = this.home(x + n("thickness_mm") / 2, 0, n("at_mm"));
    this.add(of, box(centre, [this.x, this.y, this.z], [n("thickness_mm"), n("width_mm"), n("length_mm")]));
  }

  private tube() {
    const n = this.n.bind(this);
    this.plate("tube.dovetail", this.saddle);
    this.plate("tube.top_rail", this.saddle + 2 * this.axisDistance - n("tube.dovetail.thickness_mm"));
    for (let i = 0; i < this.figures.entries("tube.sections"); i++) {
      const s = `tube.sections[${i}]`;
      const d = n(`${s}.diameter_mm`);
      const from = this.tubeAt(0, 0, n(`${s}.from_mm`));
      this.add(s, rod(from, this.tubeAt(0, 0, n(`${s}.to_mm`)), d, n(`${s}.end_diameter_mm`, d)));
    }
    this.spans.forEach((span, i) => this.item(i, span.from, span.to));
    for (let i = 0; i < this.figures.entries("tube.guide_tubes"); i++) {
      const g = `tube.guide_tubes[${i}]`;
      const [x, y] = this.guide(i);
      this.add(g, rod(this.tubeAt(x, y, n(`${g}.from_mm`)), this.tubeAt(x, y, n(`${g}.to_mm`)), n(`${g}.diameter_mm`)));
    }
  }

  /** The middle of a guide tube, from the tube's axis. */
  guide(i: number): readonly [number, number] {
    const a = (this.n(`tube.guide_tubes[${i}].angle_deg`) * Math.PI) / 180;
    const r = this.n(`tube.guide_tubes[${i}].beside_mm`);
    return [r * Math.cos(a), r * Math.sin(a)];
  }

  /** Where the train starts, and its axes: x and y at rotator angle 0, z back towards the tube. */
  get train(): { origin: Vec; axes: readonly [Vec, Vec, Vec] } {
    const from = this.n("tube.train.from_mm");
    if (!this.side) return { origin: this.tubeAt(0, 0, from), axes: [this.x, this.y, this.z] };
    const out = turn(this.x, this.z, this.n("tube.train.side_angle_deg"));
    const origin = add(this.tubeAt(0, 0, from), scale(this.n("tube.train.start_mm"), out));
    const back = scale(-1, out);
    return { origin, axes: [this.z, cross(back, this.z), back] };
  }

  /** An item's own axes: the train's, turned with the rotator where it turns. */
  itemAxes(i: number): readonly [Vec, Vec, Vec] {
    const [x, y, z] = this.train.axes;
    const turns = this.figures.word(`tube.train.items[${i}].turns`) === "true";
    const deg = turns ? this.n("tube.train.rotator.angle_deg") : 0;
    return [turn(x, z, deg), turn(y, z, deg), z];
  }

  /** A point of an item: across, and so far out along the train. */
  itemAt(i: number, x: number, y: number, out: number): Vec {
    const [ax, ay, az] = this.itemAxes(i);
    return add(this.train.origin, sum([x, ax], [y, ay], [-out, az]));
  }

  itemHull(i: number, from: number, to: number): Vec[] {
    const n = (key: string) => this.n(`tube.train.items[${i}].${key}`);
    const [ox, oy] = [n("offset_x_mm"), n("offset_y_mm")];
    if (this.has(`tube.train.items[${i}].width_mm`)) {
      const centre = this.itemAt(i, ox, oy, (from + to) / 2);
      return box(centre, this.itemAxes(i), [n("width_mm"), n("height_mm"), to - from]);
    }
    return rod(this.itemAt(i, ox, oy, from), this.itemAt(i, ox, oy, to), n("diameter_mm"));
  }

  private item(i: number, from: number, to: number) {
    this.add(`tube.train.items[${i}]`, this.itemHull(i, from, to));
  }

  /** Where an extra part is and how it is turned. */
  placed(path: string): Placed {
    const list = path.slice(0, path.indexOf("["));
    const own: Record<string, string> = { "support.obstacles": "ground", "mount.parts": "arm", "tube.parts": "tube", parts: "ground" };
    const frameName = this.figures.word(`${path}.frame`) || own[list] || "ground";
    const world: readonly [Vec, Vec, Vec] = [[1, 0, 0], [0, 1, 0], up];
    const frame = frameName === "ground" ? world : ([this.x, this.y, this.z] as const);
    const origin: Vec = frameName === "ground" ? [0, 0, 0] : frameName === "tube" ? this.home(this.saddle, 0, 0) : this.crossing;
    const at = [0, 1, 2].map((k) => this.n(`${path}.at_mm[${k}]`)) as [number, number, number];
    const toWorld = (v: Vec) => sum([v[0], frame[0]], [v[1], frame[1]], [v[2], frame[2]]);
    const spin = this.n(`${path}.turn_deg`);
    const given = [0, 1, 2].map((k) => this.n(`${path}.direction[${k}]`)) as [number, number, number];
    const direction = norm(given) > 0 ? unit(given) : up;
    const axis = cross(up, direction);
    const tilt = (Math.atan2(norm(axis), direction[2]) * 180) / Math.PI;
    const about: Vec = norm(axis) > 1e-9 ? unit(axis) : [1, 0, 0];
    const axes = world.map((e) => toWorld(turn(turn(e, up, spin), about, tilt))) as [Vec, Vec, Vec];
    return { centre: add(origin, toWorld(at)), axes, origin, frame, frameName };
  }

  /** The word for a part's shape, or what its number of sizes says. */
  shape(path: string): string {
    const sizes = this.figures.entries(`${path}.size_mm`);
    return this.figures.word(`${path}.shape`) ?? (sizes === 3 ? "box" : sizes === 2 ? "cylinder" : "sphere");
  }

  private extra(path: string) {
    const { centre, axes } = this.placed(path);
    const size = [0, 1, 2].map((k) => this.n(`${path}.size_mm[${k}]`)) as [number, number, number];
    const along = (half: number) => add(centre, scale(half, axes[2]));
    switch (this.shape(path)) {
      case "box":
        return this.add(path, box(centre, axes, size));
      case "cylinder":
        return this.add(path, rod(along(-size[1] / 2), along(size[1] / 2), size[0]));
      case "cone":
        return this.add(path, rod(along(-size[2] / 2), along(size[2] / 2), size[0], size[1]));
      case "capsule":
        return this.add(path, [...ball(along(-size[1] / 2), size[0]), ...ball(along(size[1] / 2), size[0])]);
      default:
        return this.add(path, ball(centre, size[0]));
    }
  }
}
