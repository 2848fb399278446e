import type { PartDoc } from "../api/shapes";
import type { Head } from "./axes";
import type { Orbit } from "./orbit";

// Views are the named places to look from. Directions are those of the ground: azimuth clockwise from true north.
export interface View {
  name: string;
  azimuth: number;
  altitude: number;
  distance: number;
  target: [number, number, number];
}

const deg = 180 / Math.PI;

export interface Leg {
  name: string;
  azimuth: number; // degrees from north
  foot: [number, number, number];
}

// legs are the parts named "leg 1" and so on.
export function legs(parts: PartDoc[]): Leg[] {
  return parts
    .filter((p) => p.frame === "ground" && /^leg \d+$/.test(p.name))
    .map((p) => {
      const [, , zx = 0, x = 0, , , zy = 0, y = 0, , , zz = 1, z = 0] = p.place;
      const half = ((p.shape === "box" ? p.size_mm[2] : p.size_mm[1]) ?? 0) / 2;
      const down = zz > 0 ? -half : half; // along its own z, towards the ground
      const foot: [number, number, number] = [x + down * zx, y + down * zy, z + down * zz];
      return { name: p.name, azimuth: (Math.atan2(foot[0], foot[1]) * deg + 360) % 360, foot };
    });
}

export function views(parts: PartDoc[], head: Head): View[] {
  const top = head.crossing.z;
  const middle: [number, number, number] = [0, 0, top * 0.62];
  const far = Math.max(4200, top * 3.4);
  const u = head.p; // the elevated pole: look along it from below, to the pole
  const out: View[] = [
    { name: "from south", azimuth: 180, altitude: 6, distance: far, target: middle },
    { name: "from above", azimuth: 180, altitude: 89.9, distance: far * 1.05, target: [0, 0, top * 0.6] },
    {
      name: "along the polar axis",
      azimuth: Math.atan2(u.x, u.y) * deg,
      altitude: Math.asin(u.z) * deg,
      distance: far,
      target: [head.crossing.x, head.crossing.y, head.crossing.z],
    },
  ];
  for (const l of legs(parts)) {
    // A little off the leg's own bearing, so that it is seen beside what may come down on it.
    const at: [number, number, number] = [l.foot[0] * 0.45, l.foot[1] * 0.45, top * 0.55];
    out.push({ name: `beside ${l.name}`, azimuth: l.azimuth + 65, altitude: 9, distance: far * 0.6, target: at });
  }
  return out;
}

// opening is the first look: a little from above, from where no obstacle on the ground stands between.
export function opening(parts: PartDoc[], head: Head): View {
  const first = views(parts, head)[0];
  const far = first?.distance ?? 4200;
  const obstacles = parts
    .filter((p) => p.frame === "ground")
    .map((p) => [p.place[3] ?? 0, p.place[7] ?? 0] as const)
    .filter(([x, y]) => Math.hypot(x, y) > 600)
    .map(([x, y]) => (Math.atan2(x, y) * deg + 360) % 360);
  const apart = (a: number) => Math.min(180, ...obstacles.map((b) => Math.abs(((a - b + 540) % 360) - 180)));
  const azimuth = [152, 208, 28, 332, 90, 270].reduce((best, a) => (apart(a) > apart(best) + 15 ? a : best));
  return { name: "", azimuth, altitude: 13, distance: far, target: first?.target ?? [0, 0, 900] };
}

export function look(orbit: Orbit, v: View) {
  orbit.azimuth = v.azimuth;
  orbit.altitude = v.altitude;
  orbit.distance = v.distance;
  orbit.target.set(...v.target);
  orbit.place();
}
