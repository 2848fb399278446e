import type { Altitudes, BlockDoc, NightDoc, Pose, TargetPlan } from "../../api/shapes";

// Where things stand at a moment, between the server's figures. Moments are milliseconds since 1970.

// along reads a list that has one value a step, with straight lines between.
export function along(a: Altitudes, values: readonly number[], ms: number): number {
  const x = (ms - Date.parse(a.from)) / (a.step_s * 1000);
  const i = Math.min(Math.max(Math.floor(x), 0), values.length - 2);
  const [p = NaN, q = NaN] = [values[i], values[i + 1]];
  return p + (q - p) * Math.min(Math.max(x - i, 0), 1);
}

// hourAngle reads hour angles, which leap from 12 h to −12 h at lower transit.
export function hourAngle(a: Altitudes, values: readonly number[], ms: number): number {
  const x = (ms - Date.parse(a.from)) / (a.step_s * 1000);
  const i = Math.min(Math.max(Math.floor(x), 0), values.length - 2);
  const [p = NaN, q = NaN] = [values[i], values[i + 1]];
  const h = p + (q < p ? q + 24 - p : q - p) * Math.min(Math.max(x - i, 0), 1);
  return h >= 12 ? h - 24 : h;
}

// What the mount does at a moment of the schedule.
export type Doing =
  | { what: "exposing"; block: BlockDoc; index: number }
  | { what: "slewing"; to: string; flip: boolean; share: number; path: readonly (readonly number[])[] }
  | { what: "waiting"; after: BlockDoc | null; next: BlockDoc | null };

export function doing(n: NightDoc, ms: number): Doing {
  let after: BlockDoc | null = null;
  for (const [index, block] of n.schedule.entries()) {
    const slew = slewing(block.come, block.target, ms);
    if (slew) return slew;
    if (ms < Date.parse(block.from)) return { what: "waiting", after, next: block };
    if (ms < Date.parse(block.to)) return { what: "exposing", block, index };
    after = block;
  }
  return (n.park && slewing(n.park, "park", ms)) ?? { what: "waiting", after, next: null };
}

function slewing(m: BlockDoc["come"], to: string, ms: number): Doing | null {
  const [a, b] = [Date.parse(m.begin), Date.parse(m.end)];
  if (ms < a || ms >= b) return null;
  return { what: "slewing", to, flip: m.flip, share: (ms - a) / (b - a), path: m.waypoints_deg };
}

// poseAt is the pose at a moment: of the block, or on the way of a slew as if both axes went evenly; null where the mount stands
// still or its way is not known in hour angle and declination, because the polar axis is off the pole.
export function poseAt(n: NightDoc, a: Altitudes, ms: number, latitudeDeg: number, aligned: boolean): Pose | null {
  const d = doing(n, ms);
  if (d.what === "exposing") {
    const t = a.targets.find((t) => t.name === d.block.target);
    return t ? { side: d.block.side, hourAngleH: hourAngle(a, t.hour_angle_h, ms), decDeg: t.dec_deg } : null;
  }
  if (d.what === "slewing" && aligned) return ofAxes(between(d.path, d.share), latitudeDeg);
  return null;
}

// between follows a path of axis angles evenly in its longest turn of either axis.
export function between(path: readonly (readonly number[])[], share: number): [number, number] {
  const legs = path.slice(1).map((q, i) => Math.max(...q.map((v, k) => Math.abs(v - (path[i]?.[k] ?? v)))));
  let left = share * legs.reduce((s, l) => s + l, 0);
  for (const [i, l] of legs.entries()) {
    const [p = [], q = []] = [path[i], path[i + 1]];
    if (left <= l) {
      const f = l > 0 ? left / l : 0;
      const mix = (k: number) => (p[k] ?? 0) + ((q[k] ?? 0) - (p[k] ?? 0)) * f;
      return [mix(0), mix(1)];
    }
    left -= l;
  }
  const last = path.at(-1) ?? [];
  return [last[0] ?? 0, last[1] ?? 0];
}

// ofAxes is DESIGN 2 the other way round, for a polar axis on the pole: side west θ = H + 90°, β = P; side east θ = H − 90°, β = −P.
export function ofAxes([ra, dec]: readonly [number, number], latitudeDeg: number): Pose {
  const s = latitudeDeg < 0 ? -1 : 1;
  const west = dec >= 0;
  const h = (west ? ra - 90 : ra + 90) / 15;
  return { side: west ? "west" : "east", hourAngleH: h - 24 * Math.round(h / 24), decDeg: s * (90 - Math.abs(dec)) };
}

// idle gives the stretch between stop and resume of a target without a flip window, as far as it is dark.
export function idle(n: NightDoc, t: TargetPlan): [number, number] | null {
  if (t.idle_min <= 0 || t.flip_windows.length > 0 || t.stop === null || t.resume === null) return null;
  const from = Math.max(Date.parse(t.stop), n.dark_from === null ? -Infinity : Date.parse(n.dark_from));
  const to = Math.min(Date.parse(t.resume), n.dark_to === null ? Infinity : Date.parse(n.dark_to));
  return from < to ? [from, to] : null;
}

// span is the stretch that a picture of the night shows: from half an hour before sunset to half an hour after sunrise, or all.
export function span(n: NightDoc, a: Altitudes): [number, number] {
  const half = 30 * 60000;
  return [n.sunset === null ? Date.parse(a.from) : Date.parse(n.sunset) - half, n.sunrise === null ? Date.parse(a.to) : Date.parse(n.sunrise) + half];
}
