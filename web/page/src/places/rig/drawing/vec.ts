/** Points and directions, mm. */
export type Vec = readonly [number, number, number];

export const add = (a: Vec, b: Vec): Vec => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const sub = (a: Vec, b: Vec): Vec => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const scale = (k: number, a: Vec): Vec => [k * a[0], k * a[1], k * a[2]];
export const dot = (a: Vec, b: Vec): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Vec, b: Vec): Vec => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const norm = (a: Vec): number => Math.hypot(a[0], a[1], a[2]);
export const unit = (a: Vec): Vec => scale(1 / (norm(a) || 1), a);
export const mid = (a: Vec, b: Vec): Vec => scale(0.5, add(a, b));

/** k₁·v₁ + k₂·v₂ + … */
export const sum = (...terms: readonly (readonly [number, Vec])[]): Vec =>
  terms.reduce<Vec>((s, [k, v]) => add(s, scale(k, v)), [0, 0, 0]);

/** Turns v about the unit axis k by an angle in degrees (Rodrigues' formula). */
export function turn(v: Vec, k: Vec, deg: number): Vec {
  const a = (deg * Math.PI) / 180;
  return sum([Math.cos(a), v], [Math.sin(a), cross(k, v)], [dot(k, v) * (1 - Math.cos(a)), k]);
}

/** Any unit vector square to a. */
export function square(a: Vec): Vec {
  return unit(cross(a, Math.abs(a[2]) < 0.9 * norm(a) ? [0, 0, 1] : [1, 0, 0]));
}
