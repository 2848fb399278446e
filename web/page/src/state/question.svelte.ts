import type { Tolerance } from "../api/shapes";
import { draft } from "./draft.svelte";

export type Known = "worst" | "with" | "without"; // what is known of a condition

// Question is what every question about gaps takes besides the rig: how tolerances add up, and which conditions hold.
class Question {
  tolerance = $state<Tolerance>("rss");
  conditions = $state<Record<string, Known>>({});

  // body of a request, with what it asks besides.
  body<T extends object>(rest: T) {
    const named = draft.good?.conditions ?? [];
    const those = (k: Known) => named.filter((c) => this.conditions[c] === k);
    return { id: draft.id, text: draft.goodText, tolerance: this.tolerance, with: those("with"), without: those("without"), ...rest };
  }
}

export const question = new Question();
