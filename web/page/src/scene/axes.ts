import { Matrix4, Vector3 } from "three";

import type { HeadDoc, Pose } from "../api/shapes";

// The placing of DESIGN 2, for poses between two answers of the server: the same formulas as the server's package axes, so that
// parts stand where it would put them but for rounding. Each answer of the server puts them right again.

const rad = Math.PI / 180;

export interface Angles {
  ra: number; // θ, radians
  dec: number; // β, radians
}

function wrap(x: number): number {
  return x - 2 * Math.PI * Math.floor((x + Math.PI) / (2 * Math.PI));
}

function vec(a: number[]): Vector3 {
  return new Vector3(a[0], a[1], a[2]);
}

export class Head {
  readonly crossing: Vector3;
  readonly x: Vector3;
  readonly w: Vector3;
  readonly p: Vector3;

  constructor(
    readonly doc: HeadDoc,
    crossingMM: number[],
  ) {
    this.crossing = vec(crossingMM);
    this.x = vec(doc.x);
    this.w = vec(doc.w);
    this.p = vec(doc.p);
  }

  get #s(): number {
    return this.doc.latitude_deg < 0 ? -1 : 1;
  }

  // angles of the axes at a pose, unwrapped.
  angles(p: Pose): Angles {
    let own = p.hourAngleH * 15 * rad;
    let polar = Math.PI / 2 - this.#s * p.decDeg * rad;
    if (!this.doc.aligned) {
      const u = direction(this.doc.latitude_deg * rad, own, p.decDeg * rad);
      const x = u.dot(this.x);
      const w = u.dot(this.w);
      own += wrap(Math.atan2(w, x) - own);
      polar = Math.atan2(Math.hypot(x, w), u.dot(this.p));
    }
    return p.side === "west" ? { ra: own + Math.PI / 2, dec: polar } : { ra: own - Math.PI / 2, dec: -polar };
  }

  // arm frame → world: columns a, p × a, p.
  arm(g: Angles): Matrix4 {
    const a = this.#a(g);
    return new Matrix4().makeBasis(a, this.p.clone().cross(a), this.p).setPosition(this.crossing);
  }

  // tube frame → world: columns a, v = u × a, u.
  tube(g: Angles): Matrix4 {
    const a = this.#a(g);
    const u = this.pointing(g);
    return new Matrix4().makeBasis(a, u.clone().cross(a), u).setPosition(this.crossing);
  }

  // pointing is u(θ, β) = cosβ·p + sinβ·b(θ).
  pointing(g: Angles): Vector3 {
    const ra = g.ra + this.doc.ra_zero_deg * rad;
    const dec = g.dec + this.doc.dec_zero_deg * rad;
    const b = this.x.clone().multiplyScalar(Math.sin(ra)).addScaledVector(this.w, -Math.cos(ra));
    return this.p.clone().multiplyScalar(Math.cos(dec)).addScaledVector(b, Math.sin(dec));
  }

  #a(g: Angles): Vector3 {
    const ra = g.ra + this.doc.ra_zero_deg * rad;
    return this.x.clone().multiplyScalar(Math.cos(ra)).addScaledVector(this.w, Math.sin(ra));
  }
}

// direction of an hour angle and a declination at latitude φ: x east, y north, z up.
export function direction(φ: number, H: number, δ: number): Vector3 {
  const [sφ, cφ, cH, sδ, cδ] = [Math.sin(φ), Math.cos(φ), Math.cos(H), Math.sin(δ), Math.cos(δ)];
  return new Vector3(-cδ * Math.sin(H), sδ * cφ - cδ * cH * sφ, sδ * sφ + cδ * cH * cφ);
}
