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
