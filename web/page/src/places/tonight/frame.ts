import type { Altitudes } from "../../api/shapes";
import type { Clock } from "./clock";

// Frame is where moments and altitudes stand in a picture of the night, CSS pixels.
export class Frame {
  readonly left: number; // of the time axis
  readonly right: number;
  readonly height: number; // of the curves
  readonly names: boolean; // there is space for names beside the rows
  readonly row = 44;

  constructor(
    readonly width: number,
    readonly from: number,
    readonly to: number,
  ) {
    this.names = width >= 720;
    this.left = this.names ? 190 : 46;
    this.right = this.names ? 64 : 10;
    this.height = Math.round(Math.min(Math.max(width * 0.3, 190), 460));
  }

  get axis(): number {
    return Math.max(this.width - this.left - this.right, 60);
  }

  // x keeps a moment inside the frame.
  x(ms: number): number {
    return this.left + this.axis * Math.min(Math.max((ms - this.from) / (this.to - this.from), 0), 1);
  }

  moment(x: number): number {
    const share = Math.min(Math.max((x - this.left) / this.axis, 0), 1);
    return Math.round((this.from + share * (this.to - this.from)) / 60000) * 60000;
  }

  y(altDeg: number): number {
    return this.height * (1 - altDeg / 90);
  }

  holds(ms: number): boolean {
    return ms >= this.from && ms <= this.to;
  }

  // hours are the ticks: as many as there is space to read.
  hours(clock: Clock): ReturnType<Clock["hours"]> {
    const wide = (this.axis / (this.to - this.from)) * 3600000;
    const every = [1, 2, 3, 6].find((n) => n * wide >= 30) ?? 6;
    return clock.hours(this.from, this.to).filter((h) => h.change || h.hour % every === 0);
  }

  // points of a curve above the horizon in a stretch, one list for each time that it is up.
  above(a: Altitudes, alt: readonly number[], from = this.from, to = this.to): [number, number][][] {
    const out: [number, number][][] = [];
    let run: [number, number][] = [];
    const start = Date.parse(a.from);
    const add = (ms: number, h: number) => {
      if (h >= 0) run.push([this.x(ms), this.y(h)]);
      else if (run.length > 0) {
        out.push(run);
        run = [];
      }
    };
    const at = (ms: number) => {
      const x = (ms - start) / (a.step_s * 1000);
      const i = Math.min(Math.max(Math.floor(x), 0), alt.length - 2);
      return (alt[i] ?? NaN) + ((alt[i + 1] ?? NaN) - (alt[i] ?? NaN)) * (x - i);
    };
    const [lo, hi] = [Math.max(from, this.from), Math.min(to, this.to)];
    if (lo >= hi) return out;
    add(lo, at(lo));
    for (const [i, h] of alt.entries()) {
      const ms = start + i * a.step_s * 1000;
      if (ms > lo && ms < hi) add(ms, h);
    }
    add(hi, at(hi));
    if (run.length > 0) out.push(run);
    return out;
  }
}

export function path(runs: readonly (readonly [number, number][])[]): string {
  return runs.map((r) => "M" + r.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")).join("");
}
