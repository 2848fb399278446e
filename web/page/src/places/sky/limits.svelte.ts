import { post, superseded, words } from "../../api/client";
import type { LimitsDoc } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";

// Limits of the draft: the two numbers, and the table by declination.
class Limits {
  doc = $state.raw<LimitsDoc | null>(null);
  problem = $state("");
  #of = $state(""); // the question that the answer is to
  #stop: AbortController | null = null;

  // current is the answer when it is to the question of now.
  get current(): LimitsDoc | null {
    return this.#of === question.key ? this.doc : null;
  }

  // ask asks anew; call it from an effect. It waits for a slider to rest.
  ask(): (() => void) | undefined {
    const body = question.body({});
    const key = question.key;
    if (!draft.good) return undefined;
    const stop = (this.#stop = new AbortController());
    const timer = setTimeout(() => void this.#run(body, key, stop), 250);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }

  async #run(body: object, key: string, stop: AbortController) {
    try {
      const doc = await tasks.wait("Working out the limits", post<LimitsDoc>("/limits", body, stop.signal));
      if (this.#stop === stop) {
        this.doc = doc;
        this.#of = key;
        this.problem = "";
      }
    } catch (err) {
      if (superseded(err)) return;
      this.doc = null;
      this.problem = words(err);
    }
  }
}

export const limits = new Limits();
