import { post, words } from "../../api/client";
import type { LimitsDoc } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";

const patience = 300; // ms that the draft must rest: while a slider moves, nearer answers come first

// Limits are those of the draft as it stands; an older answer is shown as such until the next one comes, or not at all.
class Limits {
  answer = $state.raw<LimitsDoc | null>(null);
  problem = $state("");

  // current tells whether the answer is of the draft of now, by its fingerprint.
  current = $derived(this.answer !== null && this.answer.fingerprint === draft.good?.fingerprint);

  // follow asks when the draft or the question changes; call it from an effect, and what it returns is its end.
  follow(): () => void {
    const body = question.body({ row_deg: 30 });
    const stop = new AbortController();
    if (!draft.good) {
      this.answer = null;
      return () => stop.abort();
    }
    const timer = setTimeout(() => {
      post<LimitsDoc>("/limits", body, stop.signal)
        .then((a) => {
          this.answer = a;
          this.problem = "";
        })
        .catch((err: unknown) => {
          if (!stop.signal.aborted) this.problem = words(err);
        });
    }, patience);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }
}

export const limits = new Limits();
