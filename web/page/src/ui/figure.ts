// Figures as the page writes them: U+2212 for minus, and either minus is read.

export function showFigure(v: number, digits = 0): string {
  if (!Number.isFinite(v)) return "–";
  const s = v.toFixed(digits);
  return Number(s) === 0 ? s.replace("-", "") : s.replace("-", "\u2212");
}

// atLeast and atMost round to the safe side, as the command does: room down, what it costs up.
export const atLeast = (v: number, digits = 0) => showFigure(Math.floor(v * 10 ** digits) / 10 ** digits, digits);
export const atMost = (v: number, digits = 0) => showFigure(Math.ceil(v * 10 ** digits - 1e-9) / 10 ** digits, digits);

// signed also writes a plus.
export function signed(v: number, digits = 0): string {
  const s = showFigure(v, digits);
  return v > 0 && Number(s) !== 0 ? "+" + s : s;
}

// parseFigure reads a number with a point or a comma; NaN when it is none.
export function parseFigure(s: string): number {
  const t = s.trim().replace("\u2212", "-").replace(",", ".");
  return t === "" ? NaN : Number(t);
}

// hours writes an hour angle as hours and minutes, "−2 h 05 min".
export function hours(h: number): string {
  const min = Math.round(Math.abs(h) * 60);
  const sign = h < 0 && min > 0 ? "\u2212" : h > 0 && min > 0 ? "+" : "";
  return `${sign}${String(Math.floor(min / 60))} h ${String(min % 60).padStart(2, "0")} min`;
}
