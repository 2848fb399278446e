// A horizon is a list of azimuth, altitude pairs in degrees, azimuth clockwise from true north, sorted, straight between the points
// and round over north.
export type Point = [azimuth: number, altitude: number];

// altitudeAt gives the horizon's altitude at an azimuth; 0 without points.
export function altitudeAt(h: readonly Point[], azimuth: number): number {
  const first = h[0];
  const last = h.at(-1);
  if (!first || !last) return 0;
  const i = h.findIndex(([a]) => a > azimuth);
  const [from, to] = i <= 0 ? [last, first] : [h[i - 1] ?? last, h[i] ?? first];
  const wide = (to[0] - from[0] + 360) % 360 || 360;
  return from[1] + ((to[1] - from[1]) * ((azimuth - from[0] + 360) % 360)) / wide;
}

// between gives a new point in the middle of the widest stretch without one, on the horizon as it is.
export function between(h: readonly Point[]): Point {
  if (h.length === 0) return [0, 0];
  let [at, wide] = [0, 0];
  h.forEach(([a], i) => {
    const next = ((h[(i + 1) % h.length]?.[0] ?? a) - a + 360) % 360 || 360;
    if (next > wide) [at, wide] = [a, next];
  });
  const azimuth = Math.round(at + wide / 2) % 360;
  return [azimuth, Math.round(altitudeAt(h, azimuth) * 10) / 10];
}

// outline is the horizon from north round to north, for a drawing.
export function outline(h: readonly Point[]): Point[] {
  return [[0, altitudeAt(h, 0)], ...h.filter(([a]) => a > 0), [360, altitudeAt(h, 0)]];
}

// written is what the document says, in the order of azimuth.
export function written(h: readonly Point[]): string {
  const sorted = [...h].sort(([a], [b]) => a - b);
  return `[${sorted.map(([a, alt]) => `[${String(a)}, ${String(alt)}]`).join(", ")}]`;
}
