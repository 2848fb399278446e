import { anglesOf, type Shown } from "../../scene/shown.svelte";
import { Head } from "../../scene/axes";
import { poseWords } from "./words";
import { watching } from "./watching.svelte";

// Live is the watched rig where the mount was last seen.
class Live implements Shown {
  #doc = $derived(watching.doc?.running ? watching.doc : null);
  head = $derived(this.#doc?.head ? new Head(this.#doc.head, this.#doc.crossing_mm) : null);
  #sample = $derived(watching.last?.sample ?? null);
  // Before the mount was seen there are no parts to draw: any pose would be a claim.
  now = $derived.by(() => {
    const [ra, dec] = [this.#sample?.ra_axis_deg, this.#sample?.dec_axis_deg];
    return typeof ra === "number" && typeof dec === "number" ? anglesOf(ra, dec) : null;
  });
  parts = $derived(this.now ? (this.#doc?.parts ?? []) : []);
  placed = anglesOf(0, 0);
  nearest = $derived(watching.last?.nearest ?? []);
  below = $derived.by(() => {
    const margin = this.#doc?.margin_mm ?? 0;
    return new Set(this.nearest.filter((n) => n.gap_lower_mm < margin).flatMap((n) => [n.a, n.b]));
  });
  where = $derived(watching.last ? poseWords(watching.last) : "");

  get rig(): string | null {
    return this.#doc ? `watched ${this.#doc.fingerprint}` : null;
  }

  // What was proven of a place is nothing once it is not known that the mount is there.
  get current(): boolean {
    return !watching.stale && watching.last?.blind.length === 0;
  }

  get problem(): string {
    return watching.stale ? "No status from the watch." : "The mount has not been seen yet.";
  }
}

export const live: Shown = new Live();
