import { post, superseded, words } from "../../api/client";
import type { LimitsDoc } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";

// Limits of the draft: the two numbers, and the table by declination.
class Limits {
  doc = $state.raw<LimitsDoc | null>(null);
  problem = $state("");
  #stop: AbortController | null = null;

  // current is the answer when it is of the draft as it stands.
  get current(): LimitsDoc | null {
    return this.doc !== null && this.doc.fingerprint === draft.good?.fingerprint ? this.doc : null;
  }

  // ask asks anew; call it from an effect. It waits for a slider to rest.
  ask(): (() => void) | undefined {
    const body = question.body({});
    if (!draft.good) return undefined;
    const stop = (this.#stop = new AbortController());
    const timer = setTimeout(() => void this.#run(body, stop), 250);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }

  async #run(body: object, stop: AbortController) {
    try {
      const doc = await tasks.wait("Working out the limits", post<LimitsDoc>("/limits", body, stop.signal));
      if (this.#stop === stop) {
        this.doc = doc;
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
