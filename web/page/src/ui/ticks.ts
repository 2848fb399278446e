import { showFigure } from "./figure";

// Tick is a place on an axis with what stands there.
export interface Tick {
  at: number; // pixels
  text: string;
  strong?: boolean;
}

// ticks are round numbers from low to high, at most so many.
export function ticks(low: number, high: number, most: number): number[] {
  const span = high - low;
  if (!(span > 0)) return [low];
  let step = 10 ** Math.floor(Math.log10(span / most));
  for (const k of [1, 2, 5, 10]) {
    if (span / (k * step) <= most) {
      step *= k;
      break;
    }
  }
  const out: number[] = [];
  for (let t = Math.ceil(low / step - 1e-9) * step; t <= high + 1e-9 * step; t += step) out.push(Number(t.toFixed(9)));
  return out;
}

// scale takes low…high to pixels from…to.
export const scale = (low: number, high: number, from: number, to: number) => (v: number) => from + ((v - low) / (high - low || 1)) * (to - from);

// ticked puts round figures on an axis, at most so many, all with as many decimals.
export function ticked(low: number, high: number, most: number, px: (v: number) => number): Tick[] {
  const list = ticks(low, high, most);
  const digits = Math.max(...list.map((t) => (String(t).split(".")[1] ?? "").length));
  return list.map((t) => ({ at: px(t), text: showFigure(t, digits) }));
}
