import { Box3, Ray, Vector3 } from "three";

import type { PartDoc } from "../api/shapes";
import type { Head } from "./axes";
import type { Orbit } from "./orbit";
import { geometry, matrix } from "./shapes";

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

// opening is the first look: from where nothing on the ground hides the rig, as little from above as that allows.
export function opening(parts: PartDoc[], head: Head): View {
  const first = views(parts, head)[0];
  const far = first?.distance ?? 4200;
  const target = first?.target ?? [0, 0, 900];
  const hides = parts
    .filter((p) => p.frame === "ground" && Math.hypot(p.place[3] ?? 0, p.place[7] ?? 0) > 600)
    .map((p) => {
      const shape = geometry(p);
      shape.computeBoundingBox();
      const box = shape.boundingBox ?? new Box3();
      shape.dispose();
      return { box, into: matrix(p.place).invert() };
    });
  const ends = [head.crossing, new Vector3(0, 0, head.crossing.z * 0.4)];
  const seen = (v: View) => {
    const from = eye(v);
    return ends.every((end) =>
      hides.every(({ box, into }) => {
        const [a, b] = [from.clone().applyMatrix4(into), end.clone().applyMatrix4(into)];
        const hit = new Ray(a, b.clone().sub(a).normalize()).intersectBox(box, new Vector3());
        return !box.containsPoint(a) && (hit === null || hit.distanceTo(a) > b.distanceTo(a));
      }),
    );
  };
  const all = [13, 30, 45].flatMap((altitude) =>
    [152, 208, 28, 332, 110, 250, 70, 290].map((azimuth): View => ({ name: "", azimuth, altitude, distance: far, target })),
  );
  return all.find(seen) ?? { name: "", azimuth: 152, altitude: 13, distance: far, target };
}

// eye is where a view looks from.
export function eye(v: Pick<View, "azimuth" | "altitude" | "distance" | "target">): Vector3 {
  const [az, alt] = [v.azimuth / deg, v.altitude / deg];
  return new Vector3(Math.sin(az) * Math.cos(alt), Math.cos(az) * Math.cos(alt), Math.sin(alt)).multiplyScalar(v.distance).add(new Vector3(...v.target));
}

export function look(orbit: Orbit, v: View) {
  orbit.azimuth = v.azimuth;
  orbit.altitude = v.altitude;
  orbit.distance = v.distance;
  orbit.target.set(...v.target);
  orbit.place();
}
