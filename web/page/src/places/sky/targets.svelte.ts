import { get, superseded, words } from "../../api/client";
import type { Target, TargetList } from "../../api/shapes";

// Targets of the chosen rig, as its list on disk has them.
class Targets {
  list = $state.raw<Target[]>([]);
  problem = $state("");

  async load(id: string, signal: AbortSignal) {
    try {
      const t = await get<TargetList>(`/rigs/${id.split("/").map(encodeURIComponent).join("/")}/targets`, signal);
      this.list = t.targets;
      this.problem = t.errors[0] ? `${t.errors[0].problem}; ${t.errors[0].remedy}` : "";
    } catch (err) {
      if (superseded(err)) return;
      this.list = [];
      this.problem = words(err);
    }
  }
}

export const targets = new Targets();

// decOfDate takes a J2000 place to the declination of a date, degrees, by precession alone (J. Meeus, Astronomical Algorithms,
// 2nd ed., ch. 21, rigorous formula). Nutation and aberration stay out: they move it by less than 0.01°, a fiftieth of what the
// line of a path is wide.
export function decOfDate(raDeg: number, decDeg: number, at: Date): number {
  const rad = Math.PI / 180;
  const t = (at.getTime() / 86400000 + 2440587.5 - 2451545) / 36525;
  const seconds = (a: number, b: number, c: number) => (((a + (b + c * t) * t) * t) / 3600) * rad;
  const ζ = seconds(2306.2181, 0.30188, 0.017998);
  const θ = seconds(2004.3109, -0.42665, -0.041833);
  const δ = decDeg * rad;
  const α = raDeg * rad + ζ;
  const A = Math.cos(δ) * Math.sin(α);
  const B = Math.cos(θ) * Math.cos(δ) * Math.cos(α) - Math.sin(θ) * Math.sin(δ);
  const C = Math.sin(θ) * Math.cos(δ) * Math.cos(α) + Math.cos(θ) * Math.sin(δ);
  return Math.atan2(C, Math.hypot(A, B)) / rad;
}
