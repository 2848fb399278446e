import type { Nearest } from "../../api/shapes";
import { Head } from "../../scene/axes";
import { anglesOf, type Shown } from "../../scene/shown.svelte";
import { draft } from "../../state/draft.svelte";
import { proof } from "./walk.svelte";
import { poseWords, predicted } from "./words";

// Posed is the rig at the step that is shown, as a ruler finds it, with the line to measure along.
class Posed implements Shown {
  head = $derived(proof.walk?.head ? new Head(proof.walk.head, proof.walk.crossing_mm) : null);
  parts = $derived(proof.walk?.parts ?? []);
  placed = anglesOf(0, 0);
  now = $derived(proof.shown ? anglesOf(proof.shown.ra_axis_deg, proof.shown.dec_axis_deg) : null);
  nearest = $derived.by((): Nearest[] => {
    const s = proof.shown;
    if (!s) return [];
    return [
      {
        a: s.from.part,
        b: s.to.part,
        gap_mm: s.gap_mm,
        gap_lower_mm: s.gap_mm - s.error_mm,
        tolerance_mm: s.error_mm,
        point_a_mm: s.from.point_mm,
        point_b_mm: s.to.point_mm,
      },
    ];
  });
  // What the sheet says, for the ruler to find: no pair need be nearer to what it needs, and nothing is proven by it.
  label = $derived.by(() => {
    const s = proof.shown;
    return s ? { words: predicted(s), said: `${s.from.part} to ${s.to.part}, ${predicted(s)}` } : null;
  });
  below: ReadonlySet<string> = new Set<string>();
  where = $derived(proof.shown ? `at step ${String(proof.shown.step)}, ${poseWords(proof.shown)}` : "");

  get rig(): string | null {
    return draft.id;
  }

  readonly current = true;
  readonly problem = "There is no walk yet.";
}

export const posed: Shown = new Posed();
