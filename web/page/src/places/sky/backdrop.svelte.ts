import type { Side } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { Site } from "./horizon";
import { roomMap } from "./roommap.svelte";
import { top } from "./scale";

// Backdrop is what a picture of the room stands before: the sky of the site, the margin, the obstacles.
class Backdrop {
  // It stays the same while a length is moved, and with it what each pixel of the map is of.
  #stands = $derived(JSON.stringify([draft.good?.site?.latitude_deg ?? 0, draft.good?.site?.horizon ?? []]));
  site = $derived(new Site(...(JSON.parse(this.#stands) as [number, number[][]])));
  decRange = $derived(this.site.decRange());
  margin = $derived(roomMap.states?.head.margin_mm ?? draft.good?.margin_mm ?? 0);
  obstacles = $derived(new Set((draft.good?.parts ?? []).filter((p) => p.from.startsWith("support.obstacles")).map((p) => p.name)));

  // top is where the scale of gaps ends, for the free sky above the horizon on some sides.
  top(sides: Side[]): number {
    const above = (u: number, v: number) => this.site.above(u, v) >= 0;
    return top(sides.flatMap((s) => [...roomMap.fields[s].freeGaps(above)]), this.margin);
  }
}

export const backdrop = new Backdrop();
