import { theme } from "../state/theme.svelte";

const roles = ["paper", "sheet", "ink", "quiet", "rule", "line", "near", "ground", "f-ground", "f-polar", "f-arm", "f-tube"] as const;

export type Palette = Record<(typeof roles)[number], string>;

// palette is the theme's colours by role, for what CSS does not paint.
export function palette(): Palette {
  return Object.fromEntries(roles.map((r) => [r, theme.color(r)])) as Palette;
}
