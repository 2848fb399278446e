import { untrack } from "svelte";

import { Problem, superseded, words } from "../../api/client";
import type { ShareDoc } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import { SideField } from "./field";
import { type Frame, frames } from "./frames";

const page = crypto.getRandomValues(new Uint32Array(2)).join("-"); // names this page to the server

const patience = 300; // ms before a map of another question fades: not in every step of a slider
const first = 150; // ms for which other pictures wait for a map's first frame

// RoomMap is the map of the draft, as fine as it has come so far. A newer question ends the older one, but not before that has
// shown its first frame: so a slider that moves has a map that moves.
class RoomMap {
  states = $state.raw<Frame | null>(null);
  gaps = $state.raw<Frame | null>(null);
  room = $state.raw<ShareDoc | null>(null);
  problem = $state("");
  working = $state(false);

  #of = $state(""); // the question that the map answers
  #waited = $state(false); // patience is over
  #waiting: ReturnType<typeof setTimeout> | undefined;
  #stop: AbortController | null = null;
  #shown = false; // the question under way has shown a frame
  #since = 0; // ms, when it was asked
  #next = false;
  #asked = ""; // the question under way

  fields = $derived({ west: new SideField("west", this.states, this.gaps), east: new SideField("east", this.states, this.gaps) });

  // stale tells that the map answers another question than that of now.
  get stale(): boolean {
    return this.states !== null && this.#of !== question.key;
  }

  // late tells that it has been stale for so long that it shows.
  get late(): boolean {
    return this.stale && this.#waited;
  }

  // coming tells that the first frame of a new question is to be expected soon: pictures that take long had better wait.
  coming(): boolean {
    return this.#stop !== null && !this.#shown && performance.now() - this.#since < first;
  }

  // ask asks for the draft's map; call it from an effect.
  ask() {
    const body = question.body({ page });
    if (!draft.good) return;
    if (draft.editing > 0 && this.#shown) {
      this.#stop?.abort(); // what is being made finer is about to be out of date: the processors are wanted for the next
      return;
    }
    // Untracked, or each frame that comes would have the effect ask again, for ever where answers are quick.
    if (untrack(() => this.stale)) this.#waiting ??= setTimeout(() => (this.#waited = true), patience);
    const asked = JSON.stringify(body);
    if (this.#stop && asked === this.#asked) return; // it is under way
    if (this.#stop && !this.#shown) {
      this.#next = true;
      return;
    }
    this.#asked = asked;
    void this.#run(body, question.key);
  }

  async #run(body: object, key: string) {
    this.#stop?.abort();
    const stop = (this.#stop = new AbortController());
    this.#shown = false;
    this.#since = performance.now();
    this.#next = false;
    const task = tasks.start("Proving the map");
    this.working = true;
    this.room = null;
    try {
      for await (const f of frames(body, stop.signal)) {
        if (stop.signal.aborted) return;
        this.#take(f, key);
        if (this.#next) break;
      }
    } catch (err) {
      if (!superseded(err)) this.problem = words(err);
    } finally {
      task.end();
      if (this.#stop === stop) {
        this.#stop = null;
        this.working = false;
        stop.abort();
        if (this.#next) this.ask();
      }
    }
  }

  #take(f: Frame, key: string) {
    if (f.head.kind === "states") {
      if (this.#of !== key) this.gaps = null;
      this.#of = key;
      this.states = f;
      this.problem = "";
      this.#shown = true;
      if (!this.stale) {
        clearTimeout(this.#waiting);
        this.#waiting = undefined;
        this.#waited = false;
      }
    } else if (f.head.kind === "gaps") {
      this.gaps = f;
    } else if (f.head.problem) {
      throw new Problem(f.head.problem, 200);
    } else {
      this.room = f.head.room_percent ?? null;
    }
  }
}

export const roomMap = new RoomMap();
