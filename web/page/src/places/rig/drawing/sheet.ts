import type { Solid } from "./solids";
import { cross, dot, sum, type Vec } from "./vec";

/** How the rig is looked at: what is to the right and what is up on the sheet, as unit vectors of the world. */
export interface View {
  readonly right: Vec;
  readonly up: Vec;
  /** From where, in words. */
  readonly seen: string;
}

/**
 * What is marked. Points are of the world, mm. A distance counts along a direction, from → to when none is given; `side` puts
 * its dimension line right (1) or left (−1) of that direction.
 */
export type Mark =
  | { readonly kind: "distance"; readonly from: Vec; readonly to: Vec; readonly side?: 1 | -1; readonly along?: Vec }
  /** Turned about `about` from one direction to another; both lie in the view's plane. */
  | { readonly kind: "angle"; readonly at: Vec; readonly from: Vec; readonly to: Vec; readonly radius: number }
  | { readonly kind: "mass"; readonly at: Vec };

/** A line of reference: an axis (dash and dot), the ground, or an arrow with a word at its end. */
export interface Guide {
  readonly kind: "axis" | "ground" | "edge" | "arrow" | "station";
  readonly from: Vec;
  readonly to: Vec;
  readonly word?: string;
}

/** What is on one sheet. */
export interface Scene {
  readonly view: View;
  readonly solids: readonly Solid[];
  /** Drawn dashed: where something may be as well. */
  readonly ghosts?: readonly Solid[];
  /** Path of the part that the measure belongs to. */
  readonly of: string;
  readonly mark: Mark;
  readonly guides: readonly Guide[];
  /** Beside the mark: the value. */
  readonly value: string;
}

export type Style = "part" | "marked" | "ghost" | "axis" | "ground" | "edge" | "extension" | "dimension" | "arrow" | "frame" | "clear" | "small" | "small-marked";

export type Item =
  | { readonly kind: "path"; readonly style: Style; readonly d: string }
  | { readonly kind: "text"; readonly style: "value" | "word"; readonly x: number; readonly y: number; readonly anchor: "start" | "middle" | "end"; readonly text: string };

/** A drawing in its own units, y down, as SVG has it. */
export interface Sheet {
  readonly width: number;
  readonly height: number;
  readonly items: readonly Item[];
}

export const width = 360;
export const height = 240;

type Point = readonly [number, number];

/** The convex hull, counter-clockwise (Andrew's monotone chain). */
export function hull(points: readonly Point[]): Point[] {
  // Rounded, so that points of one edge sort by their height and not by the noise of their sums.
  const p = points.map(([x, y]): Point => [Math.round(x * 1e4) / 1e4, Math.round(y * 1e4) / 1e4]).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly Point[]) => {
    const out: Point[] = [];
    for (const q of list) {
      for (;;) {
        const [a, b] = [out.at(-2), out.at(-1)];
        if (!a || !b || (b[0] - a[0]) * (q[1] - a[1]) - (b[1] - a[1]) * (q[0] - a[0]) > 1e-9) break;
        out.pop();
      }
      out.push(q);
    }
    out.pop();
    return out;
  };
  return [...half(p), ...half(p.reverse())];
}

interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

function boxOf(points: readonly Point[]): Box {
  const b = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  for (const [x, y] of points) {
    b.x0 = Math.min(b.x0, x);
    b.y0 = Math.min(b.y0, y);
    b.x1 = Math.max(b.x1, x);
    b.y1 = Math.max(b.y1, y);
  }
  return b;
}

/** Takes millimetres of the view to units of the sheet. */
interface Fit {
  scale: number;
  /** The view's point at the sheet's middle. */
  middle: Point;
}

const fit = (b: Box, w: number, h: number): Fit => ({
  scale: Math.min(w / Math.max(b.x1 - b.x0, 1), h / Math.max(b.y1 - b.y0, 1)),
  middle: [(b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2],
});

const r1 = (x: number) => String(Math.round(x * 10) / 10);
const path = (points: readonly Point[], closed = false) =>
  points.map(([x, y], i) => `${i ? "L" : "M"}${r1(x)} ${r1(y)}`).join("") + (closed ? "Z" : "");

/** A closed arrowhead with its tip at a point, pointing along a unit vector. */
function head(tip: Point, dir: Point, size = 9): string {
  const back: Point = [tip[0] - size * dir[0], tip[1] - size * dir[1]];
  const w = size * 0.28;
  return path([tip, [back[0] - w * dir[1], back[1] + w * dir[0]], [back[0] + w * dir[1], back[1] - w * dir[0]]], true);
}

const towards = (a: Point, b: Point): Point => {
  const l = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  return [(b[0] - a[0]) / l, (b[1] - a[1]) / l];
};

/** Space kept free on the sheet for dimension lines and figures. */
const border = 42;
/** The least length of a marked distance on the sheet, and the most that a detail is enlarged for it. */
const least = 54;
const mostZoom = 14;

/** Draws a scene: the rig to scale, the marked part in bold, its measure as a dimension with arrows. */
export function sheet(scene: Scene): Sheet {
  const { view, mark } = scene;
  const flat = (v: Vec): Point => [dot(v, view.right), dot(v, view.up)];
  const towardsViewer = cross(view.right, view.up);
  const depth = (s: Solid) => s.points.reduce((d, v) => d + dot(v, towardsViewer), 0) / s.points.length;
  const belongs = (s: Solid) => s.of === scene.of || (s.of.startsWith(scene.of) && /[.[]/.test(s.of.charAt(scene.of.length)));
  const rings = [...scene.solids]
    .sort((a, b) => depth(a) - depth(b))
    .map((s) => ({ marked: belongs(s), ring: hull(s.points.map(flat)) }));
  const ghosts = (scene.ghosts ?? []).map((s) => hull(s.points.map(flat)));
  const marked = [...rings.filter((r) => r.marked).flatMap((r) => r.ring), ...ghosts.flat()];

  const ends = mark.kind === "distance" ? [flat(mark.from), flat(mark.to)] : [flat(mark.at)];
  if (mark.kind === "angle") {
    for (const v of [mark.from, mark.to]) ends.push(flat(sum([1, mark.at], [mark.radius, v])));
  }
  const whole = boxOf([...rings.flatMap((r) => r.ring), ...ghosts.flat(), ...ends]);
  const overview = fit(whole, width - 2 * border, height - 2 * border);
  const { f, zoomed } = close(overview, flat, mark, ends, marked);

  const at = ([x, y]: Point): Point => [width / 2 + (x - f.middle[0]) * f.scale, height / 2 - (y - f.middle[1]) * f.scale];
  const items: Item[] = [];
  const draw = (style: Style, d: string) => items.push({ kind: "path", style, d });
  for (const r of rings) if (!r.marked) draw("part", path(r.ring.map(at), true));
  for (const r of rings) if (r.marked) draw("marked", path(r.ring.map(at), true));
  for (const g of ghosts) draw("ghost", path(g.map(at), true));
  for (const g of scene.guides) guide(g, (v) => at(flat(v)), items);
  const kept = { marked: marked.map(at), inset: zoomed ? corner(ends.map(at)) : undefined };
  switch (mark.kind) {
    case "distance":
      distance(at(flat(mark.from)), at(flat(mark.to)), mark.along && sheetward(flat(mark.along)), mark.side ?? 1, kept.marked, scene.value, items);
      break;
    case "angle":
      angle(at(flat(mark.at)), at(flat(sum([1, mark.at], [1, mark.from]))), at(flat(sum([1, mark.at], [1, mark.to]))), mark.radius * f.scale, scene.value, items);
      break;
    case "mass":
      mass(at(flat(mark.at)), scene.value, items);
  }
  if (kept.inset) inset(rings, whole, f, kept.inset, items);
  return { width, height, items };
}

/** Keeps the overview, or moves closer where the measure would be too small to see. */
function close(overview: Fit, flat: (v: Vec) => Point, mark: Mark, ends: readonly Point[], marked: readonly Point[]): { f: Fit; zoomed: boolean } {
  const b = boxOf([...ends, ...(marked.length ? marked : [])]);
  const [e0 = [0, 0], e1 = e0] = ends;
  let middle: Point = [(b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2];
  const part = Math.max((b.x1 - b.x0) / width, (b.y1 - b.y0) / height) * overview.scale;
  const along = mark.kind === "distance" && mark.along ? flat(mark.along) : undefined;
  const span = along ? Math.abs((e1[0] - e0[0]) * along[0] + (e1[1] - e0[1]) * along[1]) : Math.hypot(e1[0] - e0[0], e1[1] - e0[1]);
  const length = span * overview.scale;
  const wanted = mark.kind === "angle" ? 62 / (mark.radius * overview.scale) : mark.kind === "distance" && length > 1 ? least / length : 0.35 / part;
  const zoom = Math.min(mostZoom, wanted);
  if (zoom < 1.6) return { f: overview, zoomed: false };
  // The part is wider than what is left of the sheet: the measure itself is in the middle.
  if (part * zoom > 0.8) middle = mark.kind === "distance" ? [(e0[0] + e1[0]) / 2, (e0[1] + e1[1]) / 2] : e0;
  return { f: { scale: overview.scale * zoom, middle }, zoomed: true };
}

/** A direction of the view on the sheet, whose y points down. */
const sheetward = ([x, y]: Point): Point => towards([0, 0], [x, -y]);

const outward = 20;

/** A dimension line beside the marked part, with extension lines and arrows; from outside where there is no space between. */
function distance(a: Point, b: Point, given: Point | undefined, side: 1 | -1, around: readonly Point[], value: string, items: Item[]) {
  const run = given ? (b[0] - a[0]) * given[0] + (b[1] - a[1]) * given[1] : 1;
  const along: Point = given ? (run < 0 ? [-given[0], -given[1]] : given) : towards(a, b);
  // With a direction given, the side does not change when the sign of the distance does.
  const flip = run < 0 ? -side : side;
  const across: Point = [flip * along[1], -flip * along[0]];
  const off = ([x, y]: Point) => x * across[0] + y * across[1];
  // Beside the part where that is on the sheet, and at least beside both ends.
  const inside = ([x, y]: Point) => x > 0 && x < width && y > 0 && y < height;
  const reach = (o: number): boolean => [a, b].every((p) => inside([p[0] + (o - off(p)) * across[0], p[1] + (o - off(p)) * across[1]]));
  const near = Math.max(off(a), off(b)) + outward;
  const clear = Math.max(near, ...around.map((p) => off(p) + outward));
  const o = reach(clear + 6) ? clear : near;
  const foot = (p: Point): Point => [p[0] + (o - off(p)) * across[0], p[1] + (o - off(p)) * across[1]];
  const [fa, fb] = [foot(a), foot(b)];
  for (const [p, q] of [[a, fa], [b, fb]] as const) {
    const dir = towards(p, q);
    items.push({ kind: "path", style: "extension", d: path([[p[0] + 2 * dir[0], p[1] + 2 * dir[1]], [q[0] + 5 * dir[0], q[1] + 5 * dir[1]]]) });
  }
  const length = Math.hypot(fb[0] - fa[0], fb[1] - fa[1]);
  const back: Point = [-along[0], -along[1]];
  if (length >= 26) {
    items.push({ kind: "path", style: "dimension", d: path([fa, fb]) });
    items.push({ kind: "path", style: "arrow", d: head(fa, back) + head(fb, along) });
  } else {
    const tail = (p: Point, dir: Point): Point => [p[0] + 22 * dir[0], p[1] + 22 * dir[1]];
    items.push({ kind: "path", style: "dimension", d: path([tail(fa, back), fa]) + path([fb, tail(fb, along)]) });
    items.push({ kind: "path", style: "arrow", d: head(fa, along) + head(fb, back) });
  }
  beside([(fa[0] + fb[0]) / 2, (fa[1] + fb[1]) / 2], across, value, items);
}

/** Writes a value beside a point of a line, clear of it, to the side that a unit vector points to. */
function beside(p: Point, across: Point, value: string, items: Item[]) {
  const push = 5 + (Math.abs(across[0]) * textWidth(value, "value")) / 2 + Math.abs(across[1]) * 8;
  label([p[0] + across[0] * push, p[1] + across[1] * push], "middle", 5, value, "value", items);
}

/** An arc from one ray to the other with an arrow at its end. */
function angle(at: Point, from: Point, to: Point, radius: number, value: string, items: Item[]) {
  const [a, b] = [Math.atan2(from[1] - at[1], from[0] - at[0]), Math.atan2(to[1] - at[1], to[0] - at[0])];
  let span = b - a;
  while (span > Math.PI) span -= 2 * Math.PI;
  while (span < -Math.PI) span += 2 * Math.PI;
  const on = (t: number, r = radius): Point => [at[0] + r * Math.cos(t), at[1] + r * Math.sin(t)];
  for (const t of [a, b]) items.push({ kind: "path", style: "extension", d: path([at, on(t, radius + 14)]) });
  const steps = Math.max(2, Math.ceil(Math.abs(span) * 12));
  const arc = Array.from({ length: steps + 1 }, (_, i) => on(a + (span * i) / steps));
  items.push({ kind: "path", style: "dimension", d: path(arc) });
  const s = Math.sign(span) || 1;
  const lean = Math.min(0.12, Math.abs(span) / 3);
  items.push({ kind: "path", style: "arrow", d: head(on(b), [-s * Math.sin(b - s * lean), s * Math.cos(b - s * lean)]) });
  // Beside the arc, or beside both rays where there is no room between them.
  const middle = a + span / 2;
  if (Math.abs(span) > 0.3) beside(on(middle, radius), [Math.cos(middle), Math.sin(middle)], value, items);
  else beside(on(middle, radius * 0.8), [-Math.sin(middle), Math.cos(middle)], value, items);
}

/** A leader to a weight's sign. */
function mass(at: Point, value: string, items: Item[]) {
  const right = at[0] < width * 0.6;
  const to: Point = [at[0] + (right ? 46 : -46), Math.max(26, Math.min(height - 40, at[1] - 40))];
  items.push({ kind: "path", style: "dimension", d: path([at, to]) });
  items.push({ kind: "path", style: "arrow", d: dotAt(at) });
  const [x, y] = [to[0] + (right ? 12 : -12), to[1]];
  // A weight with its ring.
  items.push({ kind: "path", style: "clear", d: path([[x - 7, y - 5], [x + 7, y - 5], [x + 11, y + 11], [x - 11, y + 11]], true) });
  items.push({ kind: "path", style: "dimension", d: `M${r1(x - 4)} ${r1(y - 5)}a4 4 0 1 1 8 0` });
  label([x + (right ? 16 : -16), y], right ? "start" : "end", 8, value, "value", items);
}

const dotAt = ([x, y]: Point) => `M${r1(x - 3)} ${r1(y)}a3 3 0 1 0 6 0a3 3 0 1 0 -6 0Z`;

function guide(g: Guide, at: (v: Vec) => Point, items: Item[]) {
  const [a, b] = [at(g.from), at(g.to)];
  switch (g.kind) {
    case "arrow":
      items.push({ kind: "path", style: "edge", d: path([a, b]) }, { kind: "path", style: "arrow", d: head(b, towards(a, b), 7) });
      break;
    case "station": {
      // A small triangle that stands on the middle of the saddle.
      items.push({ kind: "path", style: "arrow", d: path([a, [a[0] - 5, a[1] + 9], [a[0] + 5, a[1] + 9]], true) });
      break;
    }
    default:
      items.push({ kind: "path", style: g.kind, d: path([a, b]) });
  }
  if (g.word) label([b[0] + 5 * towards(a, b)[0], b[1] + 9 * towards(a, b)[1]], "middle", 4, g.word, "word", items);
}

const textWidth = (text: string, style: "value" | "word") => text.length * (style === "value" ? 9.2 : 6.6);

/** Puts a text on the sheet, moved in from its edge where it would run out. */
function label(p: Point, anchor: "start" | "middle" | "end", drop: number, text: string, style: "value" | "word", items: Item[]) {
  if (style === "word" && (p[0] < 8 || p[0] > width - 8 || p[1] < 8 || p[1] > height - 8)) return;
  const w = textWidth(text, style);
  const left = anchor === "start" ? 0 : anchor === "middle" ? w / 2 : w;
  const x = Math.max(left + 4, Math.min(width - 4 - (w - left), p[0]));
  items.push({ kind: "text", style, x: Math.round(x * 10) / 10, y: Math.round(Math.max(14, Math.min(height - 5, p[1] + drop)) * 10) / 10, anchor, text });
}

const insetWidth = 84;
const insetHeight = 64;

/** The corner of the sheet that is farthest from the mark. */
function corner(ends: readonly Point[]): Point {
  const corners: Point[] = [[4, 4], [width - insetWidth - 4, 4], [4, height - insetHeight - 4], [width - insetWidth - 4, height - insetHeight - 4]];
  const distance = (c: Point) => Math.min(...ends.map(([x, y]) => Math.hypot(x - c[0] - insetWidth / 2, (y - c[1] - insetHeight / 2) * 1.3)));
  return corners.reduce((best, c) => (distance(c) > distance(best) ? c : best));
}

/** The whole rig in a corner, with a frame about what the sheet shows of it. */
function inset(rings: readonly { marked: boolean; ring: readonly Point[] }[], whole: Box, f: Fit, [cx, cy]: Point, items: Item[]) {
  const g = fit(whole, insetWidth - 10, insetHeight - 10);
  const at = ([x, y]: Point): Point => [cx + insetWidth / 2 + (x - g.middle[0]) * g.scale, cy + insetHeight / 2 - (y - g.middle[1]) * g.scale];
  items.push({ kind: "path", style: "clear", d: path([[cx, cy], [cx + insetWidth, cy], [cx + insetWidth, cy + insetHeight], [cx, cy + insetHeight]], true) });
  for (const r of rings) items.push({ kind: "path", style: r.marked ? "small-marked" : "small", d: path(r.ring.map(at), true) });
  const [w, h] = [width / 2 / f.scale, height / 2 / f.scale];
  const bound = ([x, y]: Point): Point => [Math.max(cx, Math.min(cx + insetWidth, x)), Math.max(cy, Math.min(cy + insetHeight, y))];
  const [m0, m1] = f.middle;
  items.push({ kind: "path", style: "frame", d: path(([[m0 - w, m1 - h], [m0 + w, m1 - h], [m0 + w, m1 + h], [m0 - w, m1 + h]] as Point[]).map(at).map(bound), true) });
}

