import { superseded, words } from "../api/client";
import { worked } from "../api/worked";
import { tasks } from "./tasks.svelte";

// Job is one question that takes its time: what it was asked, and what came.
export class Job<T> {
  asked = $state(""); // the question of the answer, as JSON
  answer = $state.raw<T | null>(null);
  problem = $state("");
  working = $state(false);
  done = $state(0);

  #stop: AbortController | null = null;

  constructor(
    readonly label: string,
    readonly path: string,
  ) {}

  // ask takes the place of the question before; it tells whether its answer came.
  async ask(body: object): Promise<boolean> {
    this.#stop?.abort();
    const stop = (this.#stop = new AbortController());
    const task = tasks.start(this.label);
    this.working = true;
    this.problem = "";
    this.done = 0;
    try {
      const answer = await worked<T>(this.path, body, stop.signal, (x) => {
        task.share(x);
        if (this.#stop === stop) this.done = x;
      });
      if (this.#stop !== stop) return false;
      this.answer = answer;
      this.asked = JSON.stringify(body);
      return true;
    } catch (err) {
      if (!superseded(err) && this.#stop === stop) this.problem = words(err);
      return false;
    } finally {
      task.end();
      if (this.#stop === stop) this.working = false;
    }
  }

  cancel() {
    this.#stop?.abort();
    this.#stop = null;
    this.working = false;
  }

  clear() {
    this.cancel();
    this.answer = null;
    this.problem = this.asked = "";
  }
}
