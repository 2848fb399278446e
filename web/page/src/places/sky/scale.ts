import type { ThemeName } from "../../state/theme.svelte";

// The scale of gaps: cividis, dark little and light much. Nuñez, Anderton, Renslow, PLoS ONE 13(7), 2018, e0199239, by the same
// polynomials as the server's pictures.
type RGB = [number, number, number];

function cividis(t: number): RGB {
  const poly = (...k: number[]) => Math.round(Math.max(0, Math.min(255, k.reduceRight((sum, c) => sum * t + c, 0))));
  return [
    poly(-4.54, -35.34, 2381.73, -6402.7, 7024.72, -2710.57),
    poly(32.49, 170.73, 52.82, -131.46, 176.58, -67.37),
    poly(81.24, 442.36, -2482.43, 6167.24, -6614.94, 2475.67),
  ];
}

// Linear light of an sRGB value, and back: IEC 61966-2-1; luminance by ITU-R BT.709.
const linear = (c: number) => (c <= 10.31 ? c / 3294.6 : ((c / 255 + 0.055) / 1.055) ** 2.4);
const encoded = (y: number) => 255 * (y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055);
const luminance = ([r, g, b]: RGB) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);

export const steps = 256;

const dim = 0.3; // of the light that the brightest red gives: a whole sky of it must not blind

// colors of the scale from 0 to 1; in dim red its lightness as red alone.
export function colors(theme: ThemeName): RGB[] {
  const all = Array.from({ length: steps }, (_, i) => cividis(i / (steps - 1)));
  if (theme !== "red") return all;
  const most = luminance(all[steps - 1] ?? [255, 255, 255]);
  return all.map((c) => [Math.round(encoded((dim * luminance(c)) / most)), 0, 0]);
}

// top is the gap at which the scale is lightest: a round number that nine of ten free poses of the sky stay below.
export function top(free: number[], margin: number): number {
  if (free.length === 0) return 2 * margin + 100;
  const sorted = free.sort((a, b) => a - b);
  const want = Math.max(sorted[Math.floor((sorted.length * 9) / 10)] ?? 0, margin + 20);
  for (let unit = 10; ; unit *= 10) {
    for (const k of [1, 2, 3, 4, 5, 6, 8]) if (k * unit >= want) return k * unit;
  }
}
