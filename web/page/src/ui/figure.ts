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

// plain writes a figure with at most so many decimals, and no zeros behind the last that counts.
export function plain(v: number, most: number): string {
  const s = showFigure(v, most);
  return s.includes(".") ? s.replace(/\.?0+$/, "") : s;
}

// entry writes an axis limit to enter, in degrees: at most four decimals, and what lies behind them cut off, as the command does.
export const entry = (deg: number) => plain(Math.floor(deg * 1e4 + 1e-5) / 1e4, 4);

// hourAngle writes the hour angle of a pose in hours, as its field and the command do: "−2.08 h". Minutes from the meridian are for what is
// entered: minutes writes those.
export const hourAngle = (h: number, most = 2) => `${plain(h, most)}\u202fh`;

// minutes writes whole minutes from the meridian with their sign, however many, as the command does: "+165 min".
export const minutes = (min: number) => `${signed(min)}\u202fmin`;

// duration writes whole minutes that have no sign: "40 min", "1 h 08 min".
export function duration(min: number): string {
  return min < 60 ? `${String(min)}\u202fmin` : `${String(Math.floor(min / 60))}\u202fh ${String(min % 60).padStart(2, "0")}\u202fmin`;
}
