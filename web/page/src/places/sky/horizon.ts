// The sky over the site: hour angle and declination to altitude and azimuth and back, and the horizon. Radians; u and v are parts
// of the ranges of hour angle and declination, as in field.ts.

const rad = Math.PI / 180;

export const hourOf = (u: number) => u * 24 - 12;
export const decOf = (v: number) => v * 180 - 90;
export const uOf = (hourAngleH: number) => ((((hourAngleH + 12) / 24) % 1) + 1) % 1;
export const vOf = (decDeg: number) => (decDeg + 90) / 180;

export interface AltAz {
  alt: number;
  az: number; // from north through east, 0…2π
}

export class Site {
  #sin: number;
  #cos: number;
  #horizon: number[][];

  constructor(latitudeDeg: number, horizon: number[][]) {
    this.#sin = Math.sin(latitudeDeg * rad);
    this.#cos = Math.cos(latitudeDeg * rad);
    this.#horizon = horizon;
  }

  altAz(u: number, v: number): AltAz {
    const H = (u - 0.5) * 2 * Math.PI;
    const δ = (v - 0.5) * Math.PI;
    const x = -Math.cos(δ) * Math.sin(H);
    const y = Math.sin(δ) * this.#cos - Math.cos(δ) * Math.cos(H) * this.#sin;
    const z = Math.sin(δ) * this.#sin + Math.cos(δ) * Math.cos(H) * this.#cos;
    const az = Math.atan2(x, y);
    return { alt: Math.atan2(z, Math.hypot(x, y)), az: az < 0 ? az + 2 * Math.PI : az };
  }

  // place gives u and v of a direction.
  place({ alt, az }: AltAz): [number, number] {
    const x = Math.cos(alt) * Math.sin(az);
    const y = Math.cos(alt) * Math.cos(az);
    const z = Math.sin(alt);
    const e = -y * this.#sin + z * this.#cos; // towards the equator on the meridian
    const p = y * this.#cos + z * this.#sin; // towards the celestial north pole
    const H = Math.atan2(-x, e);
    const δ = Math.atan2(p, Math.hypot(e, x));
    return [((H / (2 * Math.PI) + 0.5) % 1 + 1) % 1, δ / Math.PI + 0.5];
  }

  // altitude of the horizon at an azimuth, straight between the owner's points.
  altitude(az: number): number {
    const h = this.#horizon;
    const n = h.length;
    if (n === 0) return 0;
    const deg = az / rad;
    const k = h.findIndex((p) => (p[0] ?? 0) > deg);
    const after = h[k === -1 ? 0 : k] ?? [0, 0];
    const before = h[(k === -1 ? n - 1 : k - 1 + n) % n] ?? [0, 0];
    const span = (((after[0] ?? 0) - (before[0] ?? 0) + 360) % 360) || 360;
    const t = ((deg - (before[0] ?? 0) + 360) % 360) / span;
    return ((before[1] ?? 0) * (1 - t) + (after[1] ?? 0) * t) * rad;
  }

  // above tells how far a pose stands above the horizon.
  above(u: number, v: number): number {
    const q = this.altAz(u, v);
    return q.alt - this.altitude(q.az);
  }

  // decRange is the part of the declinations that ever stands above the horizon, to the next ten degrees outwards.
  decRange(): [number, number] {
    let lo = 90;
    let hi = -90;
    for (let d = -90; d <= 90; d++) {
      for (let h = 0; h < 180; h++) {
        if (this.above((h + 0.5) / 180, vOf(d)) >= 0) {
          lo = Math.min(lo, d);
          hi = Math.max(hi, d);
          break;
        }
      }
    }
    return lo < hi ? [Math.floor(lo / 10) * 10, Math.ceil(hi / 10) * 10] : [-90, 90];
  }
}
