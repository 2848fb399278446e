import type { Tolerance } from "../api/shapes";
import { draft } from "./draft.svelte";

export type Known = "worst" | "with" | "without"; // what is known of a condition

// How tolerances add up: as a choice, and as what is said of an answer.
export const tolerances: Record<Tolerance, { name: string; said: string }> = {
  rss: { name: "as independent errors (rss)", said: "tolerances taken off as independent errors" },
  worst: { name: "all at their worst at once", said: "tolerances taken off with all at their worst" },
  none: { name: "not taken off", said: "no tolerances taken off: for comparison, not for the mount" },
};

// Question is what every question about gaps takes besides the rig: how tolerances add up, and which conditions hold.
class Question {
  tolerance = $state<Tolerance>("rss");
  conditions = $state<Record<string, Known>>({});

  // key names the question of now. An answer to another one is out of date, even when the rig has the same fingerprint.
  key = $derived(JSON.stringify([draft.good?.fingerprint ?? "", this.body({})]));

  // chosen says in words what differs from what is asked when the owner has chosen nothing.
  get chosen(): string[] {
    const b = this.body({});
    return [
      ...(this.tolerance === "rss" ? [] : [tolerances[this.tolerance].said]),
      ...b.with.map((c) => `“${c}” holds`),
      ...b.without.map((c) => `“${c}” does not hold`),
    ];
  }

  // body of a request, with what it asks besides.
  body<T extends object>(rest: T) {
    const named = draft.good?.conditions ?? [];
    const those = (k: Known) => named.filter((c) => this.conditions[c] === k);
    return { id: draft.id, text: draft.goodText, tolerance: this.tolerance, with: those("with"), without: those("without"), ...rest };
  }
}

export const question = new Question();
