import type { Side } from "../../api/shapes";
import { type Frame, planeOf } from "./frames";

// States of a field, as the server numbers them.
export const Edge = 0;
export const Free = 1;
export const Blocked = 2;
export const Outside = 3;

export const outsideGap = -32768;
const noPair = 65535;

// Which sides a picture shows; either: the better of both, the room after a flip.
export type Shown = Side | "either";

export function sidesOf(shown: Shown): readonly Side[] {
  return shown === "either" ? ["west", "east"] : [shown];
}

export interface Sample {
  side: Side;
  state: number;
  gap: number; // mm, lower bound of the pairs across; NaN where nobody knows
  pair: readonly string[] | null;
}

// u and v are an hour angle and a declination as parts of their ranges: u 0…1 for −12 h … 12 h, v 0…1 for −90° … 90°.

// SideField is one side of a map: what is proven, field by field, and samples of the gap between which it is interpolated.
export class SideField {
  #states: Uint8Array | undefined;
  #columns = 0;
  #rows = 0;
  #gaps: Int16Array | undefined;
  #pairOf: Uint16Array | undefined;
  #gapColumns = 0;
  #gapRows = 0;
  #pairs: readonly string[][] = [];

  constructor(
    readonly side: Side,
    states: Frame | null,
    gaps: Frame | null,
  ) {
    if (states) {
      this.#states = planeOf(states, side, "state") as Uint8Array;
      this.#columns = states.head.columns ?? 0;
      this.#rows = states.head.rows ?? 0;
    }
    if (gaps) {
      this.#gaps = planeOf(gaps, side, "gap") as Int16Array;
      this.#pairOf = planeOf(gaps, side, "pair") as Uint16Array;
      this.#gapColumns = gaps.head.columns ?? 0;
      this.#gapRows = gaps.head.rows ?? 0;
      this.#pairs = gaps.head.pairs ?? [];
    }
  }

  state(u: number, v: number): number {
    if (!this.#states) return Edge;
    const i = Math.min(Math.floor(u * this.#columns), this.#columns - 1);
    const j = Math.min(Math.floor(v * this.#rows), this.#rows - 1);
    return this.#states[j * this.#columns + i] ?? Edge;
  }

  // gap between the four samples about a pose; of the nearest one where another is outside the travel.
  gap(u: number, v: number): number {
    const g = this.#gaps;
    if (!g) return NaN;
    const nc = this.#gapColumns;
    const x = u * nc - 0.5;
    const y = Math.min(Math.max(v * this.#gapRows - 0.5, 0), this.#gapRows - 1);
    const i0 = Math.floor(x);
    const j0 = Math.min(Math.floor(y), this.#gapRows - 2);
    const fx = x - i0;
    const fy = y - j0;
    const left = (i0 + nc) % nc;
    const right = (i0 + 1) % nc;
    const a = g[j0 * nc + left] ?? outsideGap;
    const b = g[j0 * nc + right] ?? outsideGap;
    const c = g[(j0 + 1) * nc + left] ?? outsideGap;
    const d = g[(j0 + 1) * nc + right] ?? outsideGap;
    if (a === outsideGap || b === outsideGap || c === outsideGap || d === outsideGap) {
      const near = fy < 0.5 ? (fx < 0.5 ? a : b) : fx < 0.5 ? c : d;
      return near === outsideGap ? NaN : near;
    }
    return (a * (1 - fx) + b * fx) * (1 - fy) + (c * (1 - fx) + d * fx) * fy;
  }

  // pair that is nearest at the sample next to a pose.
  pair(u: number, v: number): readonly string[] | null {
    if (!this.#pairOf) return null;
    const i = Math.min(Math.floor(u * this.#gapColumns), this.#gapColumns - 1);
    const j = Math.min(Math.floor(v * this.#gapRows), this.#gapRows - 1);
    const k = this.#pairOf[j * this.#gapColumns + i];
    return k === undefined || k === noPair ? null : (this.#pairs[k] ?? null);
  }

  // freeGaps lists the gaps of the samples that are free and pass.
  freeGaps(pass: (u: number, v: number) => boolean): number[] {
    const out: number[] = [];
    for (let j = 0; j < this.#gapRows; j++) {
      for (let i = 0; i < this.#gapColumns; i++) {
        const u = (i + 0.5) / this.#gapColumns;
        const v = (j + 0.5) / this.#gapRows;
        const g = this.#gaps?.[j * this.#gapColumns + i] ?? outsideGap;
        if (g !== outsideGap && this.state(u, v) === Free && pass(u, v)) out.push(g);
      }
    }
    return out;
  }
}

const rank = [1, 2, 0, -1]; // of edge, free, blocked, outside: how much is proven for the owner

// better tells whether a state and a gap are better than others.
export function better(state: number, gap: number, than: number, thanGap: number): boolean {
  const a = rank[state] ?? -1;
  const b = rank[than] ?? -1;
  return a > b || (a === b && gap > thanGap);
}

// sample gives the best of some fields at a pose.
export function sample(fields: readonly SideField[], u: number, v: number): Sample | null {
  let best: Sample | null = null;
  for (const f of fields) {
    const state = f.state(u, v);
    const gap = f.gap(u, v);
    if (!best || better(state, gap, best.state, best.gap)) best = { side: f.side, state, gap, pair: f.pair(u, v) };
  }
  return best;
}
