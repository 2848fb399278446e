import type { Pose } from "../../api/shapes";
import type { Head } from "../../scene/axes";
import { showFigure } from "../../ui/figure";
import { theme } from "../../state/theme.svelte";
import { contour } from "./contour";
import { better, Free, type SideField } from "./field";
import { decOf, hourOf, type Site, uOf, vOf } from "./horizon";
import type { Projection } from "./projection";

// The lines over a map: margin, horizon, limits, paths, the frame with its figures, the cross of the pose.

export interface Path {
  name: string;
  decDeg: number;
}

export interface Limit {
  name: string;
  raDeg: number; // RA axis angle, signed
}

// An Obstacle is a part on the ground, as its edges stand in the sky.
export interface Obstacle {
  name: string;
  edges: [u: number, v: number][][];
}

export interface Overlay {
  projection: Projection;
  site: Site;
  fields: readonly SideField[];
  marginMM: number;
  head: Head | null;
  limits: Limit[];
  side: Pose["side"] | null; // null: either side
  paths: Path[];
  obstacles: Obstacle[];
}

type Point = [x: number, y: number];

interface Tag {
  words: string;
  x: number;
  y: number;
  align: "left" | "center" | "right";
}

const rad = Math.PI / 180;

export class Pen {
  #ink = theme.color("ink");
  #paper = theme.color("paper");
  #quiet = theme.color("quiet");
  #horizon = theme.color("horizon");
  #accent = theme.color("accent");
  #tags: Tag[] = []; // written last, so that no line runs through them
  #taken: { left: number; right: number; foot: number }[] = []; // by those that are written

  constructor(
    readonly c: CanvasRenderingContext2D,
    readonly o: Overlay,
  ) {}

  draw() {
    const { c, o } = this;
    c.lineJoin = c.lineCap = "round";
    c.save();
    c.beginPath();
    if (o.projection.kind === "dome") c.arc(o.projection.w / 2, o.projection.h / 2, o.projection.w / 2, 0, 2 * Math.PI);
    else c.rect(0, 0, o.projection.w, o.projection.h);
    c.clip();
    this.#margin();
    this.#horizonLine();
    for (const x of o.obstacles) this.#obstacle(x);
    for (const p of o.paths) this.#path(p);
    for (const l of o.limits) this.#limit(l);
    c.restore();
    for (const t of this.#tags) this.#tag(t);
  }

  // marks draws what moves: the cross of the rig's pose, and the ring of the pointer.
  marks(pose: Pose | null, cursor: [u: number, v: number] | null) {
    this.c.lineCap = "round";
    if (pose) this.#cross(uOf(pose.hourAngleH), vOf(pose.decDeg));
    if (cursor) this.#ring(...cursor);
  }

  #gap(x: number, y: number): number {
    const q = this.o.projection.sky(x, y);
    if (!q) return NaN;
    let gap = NaN;
    let state = 3;
    for (const f of this.o.fields) {
      const s = f.state(...q);
      const g = f.gap(...q);
      if (!Number.isNaN(g) && (Number.isNaN(gap) || better(s, g, state, gap))) {
        gap = g;
        state = s;
      }
    }
    return gap - this.o.marginMM;
  }

  #margin() {
    const { w, h } = this.o.projection;
    const pieces = contour(w, h, Math.round(w / 4), Math.round(h / 4), (x, y) => this.#gap(x, y));
    const c = this.c;
    c.beginPath();
    for (const [x1, y1, x2, y2] of pieces) {
      const q = this.o.projection.sky((x1 + x2) / 2, (y1 + y2) / 2);
      if (!q || this.o.site.above(...q) < 0) continue;
      c.moveTo(x1, y1);
      c.lineTo(x2, y2);
    }
    this.#halo(1.4, this.#ink);
  }

  #horizonLine() {
    const { site, projection } = this.o;
    const points: (Point | null)[] = [];
    for (let a = 0; a <= 720; a++) {
      const az = (a * rad) / 2;
      const [u, v] = site.place({ alt: site.altitude(az), az });
      points.push(projection.place(u, v));
    }
    this.#trace(points);
    this.#halo(1.8, this.#horizon);
  }

  #obstacle(x: Obstacle) {
    let high: Point | null = null;
    for (const edge of x.edges) {
      const points = edge.map(([u, v]) => this.o.projection.place(u, v));
      this.#trace(points);
      this.#halo(1.2, this.#quiet, 1.5);
      for (const q of points) if (q && (!high || q[1] < high[1])) high = q;
    }
    if (high) this.#tags.push({ words: x.name, x: high[0], y: high[1] - 4, align: "center" });
  }

  #path(p: Path) {
    const { site, projection } = this.o;
    const points: (Point | null)[] = [];
    let high: Point | null = null;
    for (let i = 0; i <= 480; i++) {
      const u = Math.min(i / 480, 1 - 1e-9);
      const v = vOf(p.decDeg);
      const q = site.above(u, v) >= 0 ? projection.place(u, v) : null;
      points.push(q);
      if (q && i === 210) high = q;
      else if (q && !high && i > 210) high = q;
    }
    this.#trace(points);
    this.c.setLineDash([1, 5]);
    this.#halo(2, this.#ink, 1.5);
    this.c.setLineDash([]);
    if (high) this.#tags.push({ words: p.name, x: high[0], y: high[1] - 4, align: "center" });
  }

  // #limit follows an RA axis angle over the declinations: from a guess of the hour angle, corrected by what the axis says there.
  #limit(l: Limit) {
    const { head, side, site, projection } = this.o;
    if (!head || !side) return;
    const points: (Point | null)[] = [];
    for (let d = -89.5; d < 90; d++) {
      let h = (l.raDeg + (side === "west" ? -90 : 90)) / 15;
      for (let k = 0; k < 4; k++) h -= (head.angles({ side, hourAngleH: h, decDeg: d }).ra / rad - l.raDeg) / 15;
      const u = (h + 12) / 24;
      points.push(u >= 0 && u < 1 && site.above(u, vOf(d)) >= 0 ? projection.place(u, vOf(d)) : null);
    }
    const shown = points.filter((p) => p !== null);
    if (shown.length < 2) return;
    this.#trace(points);
    this.c.setLineDash([9, 5]);
    this.#halo(2, this.#ink);
    this.c.setLineDash([]);
    const low = shown.reduce((a, b) => (b[1] > a[1] ? b : a));
    const right = low[0] > projection.w - 90;
    this.#tags.push({ words: l.name, x: low[0] + (right ? -5 : 5), y: low[1] - 6, align: right ? "right" : "left" });
  }

  #cross(u: number, v: number) {
    const q = this.o.projection.place(u, v);
    if (!q) return;
    const [x, y] = q;
    this.c.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
      this.c.moveTo(x + dx * 4, y + dy * 4);
      this.c.lineTo(x + dx * 13, y + dy * 13);
    }
    this.#halo(2.4, this.#accent, 3);
  }

  #ring(u: number, v: number) {
    const q = this.o.projection.place(u, v);
    if (!q) return;
    this.c.beginPath();
    this.c.arc(q[0], q[1], 7, 0, 2 * Math.PI);
    this.#halo(2, this.#ink);
  }

  // #trace makes one path of points; a gap, or a jump over the picture's edge, starts anew.
  #trace(points: (Point | null)[]) {
    const c = this.c;
    c.beginPath();
    let last: Point | null = null;
    for (const q of points) {
      if (q && last && Math.hypot(q[0] - last[0], q[1] - last[1]) < this.o.projection.w / 3) c.lineTo(q[0], q[1]);
      else if (q) c.moveTo(q[0], q[1]);
      last = q;
    }
  }

  // #halo strokes what must be seen on light and on dark.
  #halo(width: number, ink: string, more = 2) {
    const c = this.c;
    c.strokeStyle = this.#paper;
    c.lineWidth = width + more;
    c.stroke();
    c.strokeStyle = ink;
    c.lineWidth = width;
    c.stroke();
  }

  #tag({ words, x, y, align }: Tag) {
    const c = this.c;
    c.font = `600 12px ${theme.role("sans")}`;
    c.textAlign = "left";
    c.textBaseline = "alphabetic";
    const w = c.measureText(words).width;
    const start = align === "center" ? x - w / 2 : align === "right" ? x - w : x;
    const most = this.o.projection.w - w - 3;
    const foot = Math.max(14, Math.min(y, this.o.projection.h - 6));
    const beside = (x: number) => this.#taken.find((t) => Math.abs(t.foot - foot) < 16 && x < t.right + 6 && t.left < x + w + 6);
    // One that would lie over another stands to the right of it, or to the left where there is no space.
    const first = Math.max(3, Math.min(start, most));
    let left = first;
    for (let t = beside(left); t && left < most; t = beside(left)) left = t.right + 6;
    if (left > most) for (let t = beside((left = first)); t && left > 3; t = beside(left)) left = t.left - w - 6;
    left = Math.max(3, Math.min(left, most));
    this.#taken.push({ left, right: left + w, foot });
    c.fillStyle = this.#paper;
    c.fillRect(left - 3, foot - 12, w + 6, 16);
    c.fillStyle = this.#ink;
    c.fillText(words, left, foot);
  }

  // frame draws the edge with its figures; they stand outside of the projection.
  frame() {
    const { c, o } = this;
    const { w, h } = o.projection;
    c.font = `13px ${theme.role("sans")}`;
    c.fillStyle = this.#quiet;
    c.strokeStyle = this.#ink;
    c.lineWidth = 1;
    if (o.projection.kind === "dome") {
      c.beginPath();
      c.arc(w / 2, h / 2, w / 2, 0, 2 * Math.PI);
      c.stroke();
      c.setLineDash([2, 4]);
      for (const k of [1 / 3, 2 / 3]) {
        c.beginPath();
        c.arc(w / 2, h / 2, (k * w) / 2, 0, 2 * Math.PI);
        c.stroke();
      }
      c.setLineDash([]);
      c.textAlign = "center";
      c.textBaseline = "middle";
      c.fillStyle = this.#ink;
      c.font = `600 14px ${theme.role("sans")}`;
      for (const [s, x, y] of [["N", w / 2, -11], ["S", w / 2, h + 11], ["E", -11, h / 2], ["W", w + 11, h / 2]] as const) c.fillText(s, x, y);
      return;
    }
    c.strokeRect(0, 0, w, h);
    c.textAlign = "center";
    c.textBaseline = "top";
    const every = w < 420 ? 6 : w < 640 ? 3 : 2;
    for (let t = -12; t <= 12; t += every) {
      const x = ((t + 12) / 24) * w;
      this.#tick(x, h, x, h + 5);
      c.fillText(showFigure(t), x, h + 8);
    }
    const narrow = w < 420;
    c.textAlign = narrow ? "right" : "center";
    c.fillText("hour angle, h (before the meridian −)", narrow ? w : w / 2, h + 24);
    c.textAlign = "left";
    c.fillText("declination", -40, h + 24);
    c.textAlign = "center";
    if (o.side && o.head?.doc.aligned) {
      c.textBaseline = "bottom";
      c.fillText("RA axis from counterweight-down", w / 2, -24);
      const off = o.side === "west" ? 90 : -90;
      for (let t = -12 + every; t < 12; t += every) {
        const x = ((t + 12) / 24) * w;
        this.#tick(x, 0, x, -5);
        c.fillText(`${showFigure(t * 15 + off)}°`, x, -7);
      }
    }
    c.textAlign = "right";
    c.textBaseline = "middle";
    for (let d = -90; d <= 90; d += 30) {
      const q = o.projection.place(0.5, vOf(d));
      if (!q) continue;
      this.#tick(0, q[1], -5, q[1]);
      c.fillText(`${showFigure(d)}°`, -8, q[1]);
    }
  }

  #tick(x1: number, y1: number, x2: number, y2: number) {
    this.c.beginPath();
    this.c.moveTo(x1, y1);
    this.c.lineTo(x2, y2);
    this.c.stroke();
  }
}

// describe says a pose and what the map knows of it.
export function describe(site: Site, fields: readonly SideField[], u: number, v: number, marginMM: number): string {
  const at = `hour angle ${showFigure(hourOf(u), 2)} h, declination ${showFigure(decOf(v), 1)}°`;
  const { alt, az } = site.altAz(u, v);
  const where = `altitude ${showFigure(alt / rad)}°, azimuth ${showFigure(az / rad)}°`;
  if (site.above(u, v) < 0) return `${at}; ${where}: below the horizon`;
  let best: { f: SideField; state: number; gap: number } | null = null;
  for (const f of fields) {
    const state = f.state(u, v);
    const gap = f.gap(u, v);
    if (!best || better(state, gap, best.state, best.gap)) best = { f, state, gap };
  }
  if (!best || best.state === 3) return `${at}; ${where}: outside the axes' travel`;
  const pair = best.f.pair(u, v);
  const word = best.state === Free ? "free" : best.state === 0 ? "edge, undecided: counts as not free" : "not free";
  const gap = Number.isNaN(best.gap) ? "" : `, gap about ${showFigure(best.gap)} mm${pair ? ` (${pair.join(" – ")})` : ""}`;
  const side = fields.length > 1 ? ` on side ${best.f.side}` : "";
  return `${at}; ${where}: ${word}${side}${gap}; margin ${showFigure(marginMM)} mm`;
}
