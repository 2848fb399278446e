import type { Site } from "./horizon";

// A Projection lays the sky into a picture of w × h; x to the right, y down, in the units of w and h.
export interface Projection {
  readonly kind: "dome" | "hours";
  readonly w: number;
  readonly h: number;
  sky(x: number, y: number): [u: number, v: number] | null;
  place(u: number, v: number): [x: number, y: number] | null;
}

// hours: hour angle from left to right, declination upwards, between two declinations in degrees.
export function hours(w: number, h: number, lo: number, hi: number): Projection {
  return {
    kind: "hours",
    w,
    h,
    sky: (x, y) => (x < 0 || y < 0 || x >= w || y >= h ? null : [x / w, (hi - ((hi - lo) * y) / h + 90) / 180]),
    place: (u, v) => {
      const y = ((hi - (v * 180 - 90)) * h) / (hi - lo);
      return y < -0.5 || y > h + 0.5 ? null : [u * w, y];
    },
  };
}

// dome: zenith in the centre, the distance from it in proportion to the zenith distance, north up, east left.
export function dome(size: number, site: Site): Projection {
  const r = size / 2;
  return {
    kind: "dome",
    w: size,
    h: size,
    sky: (x, y) => {
      const qx = (x - r) / r;
      const qy = (y - r) / r;
      const ρ = Math.hypot(qx, qy);
      if (ρ > 1) return null;
      let az = Math.atan2(-qx, -qy);
      if (az < 0) az += 2 * Math.PI;
      return site.place({ alt: ((1 - ρ) * Math.PI) / 2, az });
    },
    place: (u, v) => {
      const { alt, az } = site.altAz(u, v);
      if (alt < -1e-9) return null;
      const ρ = (Math.PI / 2 - alt) / (Math.PI / 2);
      return [r - r * ρ * Math.sin(az), r - r * ρ * Math.cos(az)];
    },
  };
}
