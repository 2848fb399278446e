import { better, Blocked, Free, Outside, type SideField } from "./field";
import type { Site } from "./horizon";
import type { Projection } from "./projection";
import { colors, steps } from "./scale";
import { theme } from "../../state/theme.svelte";

// The coloured ground of a map, pixel by pixel: the scale where it is free, hatches and dots where it is not.

// Lookup holds for each pixel of a projection where in the sky it is. It stays while size, site and view stay.
export interface Lookup {
  width: number;
  height: number;
  u: Float32Array;
  v: Float32Array;
  what: Uint8Array; // 0 nothing, 1 below the horizon, 2 sky
}

export function lookup(p: Projection, site: Site, pixels: number): Lookup {
  const width = Math.round(p.w * pixels);
  const height = Math.round(p.h * pixels);
  const out = { width, height, u: new Float32Array(width * height), v: new Float32Array(width * height), what: new Uint8Array(width * height) };
  for (let y = 0, k = 0; y < height; y++) {
    for (let x = 0; x < width; x++, k++) {
      const q = p.sky((x + 0.5) / pixels, (y + 0.5) / pixels);
      if (!q) continue;
      out.u[k] = q[0];
      out.v[k] = q[1];
      out.what[k] = site.above(q[0], q[1]) >= 0 ? 2 : 1;
    }
  }
  return out;
}

type RGB = [number, number, number];

// Inks are the colours and patterns of a theme at a number of pixels to the CSS pixel.
export interface Inks {
  scale: Uint32Array;
  ground: number;
  unknown: number; // free, and the gap is still being sampled
  tile: number; // pixels of a pattern's edge
  patterns: Uint32Array[]; // by state; free has none
}

export function inks(pixels: number): Inks {
  const role = (name: string): RGB => {
    const c = theme.color(name);
    return [1, 3, 5].map((i) => parseInt(c.slice(i, i + 2), 16)) as RGB;
  };
  const paper = role("paper");
  const tile = Math.round(8 * pixels);
  const line = 1.1 * pixels;
  // slant is how much of a pixel a line of a hatch covers.
  const slant = (k: number) => {
    const m = ((k % tile) + tile) % tile;
    return cover(line / 2 - Math.min(m, tile - m) / Math.SQRT2);
  };
  const dot = (x: number, y: number) => {
    const p = tile / 2;
    return cover(0.3 * p - Math.hypot((x % p) - p / 2 + 0.5, (y % p) - p / 2 + 0.5));
  };
  const pattern = (ink: RGB, share: (x: number, y: number) => number) => {
    const out = new Uint32Array(tile * tile);
    for (let y = 0; y < tile; y++) for (let x = 0; x < tile; x++) out[y * tile + x] = pack(mix(paper, ink, share(x, y)));
    return out;
  };
  const patterns: Uint32Array[] = [];
  patterns[Blocked] = pattern(role("ink"), (x, y) => slant(x + y));
  patterns[Outside] = pattern(role("line"), (x, y) => slant(x - y));
  patterns[0] = pattern(role("near"), dot);
  return { scale: Uint32Array.from(colors(theme.name), pack), ground: pack(role("ground")), unknown: pack(role("sheet")), tile, patterns };
}

function cover(inside: number): number {
  return Math.max(0, Math.min(1, inside + 0.5));
}

function mix(a: RGB, b: RGB, t: number): RGB {
  return a.map((x, i) => Math.round(x + ((b[i] ?? 0) - x) * t)) as RGB;
}

// pack makes a pixel of a colour; canvas memory is red first on every machine that browsers run on.
function pack([r, g, b]: RGB): number {
  return ((255 << 24) | (b << 16) | (g << 8) | r) >>> 0;
}

// paint fills an image: gaps from margin to top along the scale.
export function paint(image: ImageData, at: Lookup, fields: readonly SideField[], ink: Inks, margin: number, top: number) {
  const out = new Uint32Array(image.data.buffer);
  const { width, height, u, v, what } = at;
  const perMM = (steps - 1) / (top - margin);
  const [a, b] = fields;
  for (let y = 0, k = 0; y < height; y++) {
    const row = (y % ink.tile) * ink.tile;
    for (let x = 0; x < width; x++, k++) {
      if (what[k] !== 2) {
        out[k] = what[k] === 1 ? ink.ground : 0;
        continue;
      }
      const pu = u[k] ?? 0;
      const pv = v[k] ?? 0;
      let state = a?.state(pu, pv) ?? 0;
      let gap = state === Free || b ? (a?.gap(pu, pv) ?? NaN) : NaN;
      if (b) {
        const s = b.state(pu, pv);
        const g = b.gap(pu, pv);
        if (better(s, g, state, gap)) {
          state = s;
          gap = g;
        }
      }
      if (state === Free) {
        const t = (gap - margin) * perMM;
        out[k] = Number.isNaN(t) ? ink.unknown : (ink.scale[t > 0 ? Math.min(Math.floor(t), steps - 1) : 0] ?? 0);
      } else {
        out[k] = ink.patterns[state]?.[row + (x % ink.tile)] ?? 0;
      }
    }
  }
}
