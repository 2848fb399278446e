import { post, superseded, words } from "../../api/client";
import { worked } from "../../api/worked";
import type { Fit, ToleranceDoc, Walk } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import { empty, type Entry, readings } from "./readings";

const patience = 500; // ms that a field must rest
const key = (id: string) => "legroom.proof " + id;

export interface Wish {
  begins: string; // clock time at the site; empty: now
  steps: number;
  rulerMM: number;
  avoid: string[];
}

const usual: Wish = { begins: "", steps: 12, rulerMM: 2, avoid: [] };

interface Asked {
  begins: string;
  steps: number;
  ruler_mm: number;
  avoid: string[];
}

// Kept is what the browser keeps of a walk, so that it is there again after a reload in the garden.
interface Kept {
  wish: Wish;
  walk: Walk | null;
  asked: Asked | null;
  entries: Record<number, Entry>;
}

// ProofWalk is the walk of the chosen rig, what the ruler said on it, and what that makes of the model.
class ProofWalk {
  wish = $state<Wish>({ ...usual });
  walk = $state.raw<Walk | null>(null);
  asked = $state.raw<Asked | null>(null); // the question that gave the walk, when it begins settled
  entries = $state<Record<number, Entry>>({});
  step = $state(1); // the one that is shown
  working = $state(false);
  problem = $state("");

  fit = $state.raw<Fit | null>(null);
  fitProblem = $state("");
  fitting = $state(false);
  accepted = $state.raw<{ before: string; after: string } | null>(null);

  again = $state.raw<ToleranceDoc | null>(null);
  againProblem = $state("");
  againWorking = $state(false);

  #of: string | null = null;
  #stop: AbortController | null = null;
  #ranking: AbortController | null = null;

  // fresh tells whether the walk is for the rig as it is measured now.
  fresh = $derived(this.walk !== null && this.walk.sheet.fingerprint === draft.good?.fingerprint);
  taken = $derived(this.walk ? this.walk.sheet.steps.filter((s) => readings(this.entries[s.step] ?? empty).length > 0).length : 0);
  // sheet with the readings of now.
  sheet = $derived(
    this.walk ? { ...this.walk.sheet, steps: this.walk.sheet.steps.map((s) => ({ ...s, readings_mm: readings(this.entries[s.step] ?? empty) })) } : null,
  );
  shown = $derived(this.walk?.proof.steps.find((s) => s.step === this.step) ?? this.walk?.proof.steps[0] ?? null);
  againFresh = $derived(this.again !== null && this.again.fingerprint === draft.good?.fingerprint);

  open(id: string) {
    if (this.#of === id) return;
    this.#stop?.abort();
    this.#ranking?.abort();
    this.#of = id;
    this.problem = this.fitProblem = this.againProblem = "";
    this.working = this.againWorking = false;
    this.fit = this.accepted = this.again = null;
    this.step = 1;
    const k = read(localStorage.getItem(key(id)));
    this.wish = { ...usual, ...k?.wish };
    this.walk = k?.walk ?? null;
    this.asked = k?.asked ?? null;
    this.entries = k?.entries ?? {};
  }

  set<K extends keyof Wish>(k: K, v: Wish[K]) {
    this.wish[k] = v;
    this.#keep();
  }

  enter(step: number, field: keyof Entry, v: string) {
    this.entries[step] = { ...empty, ...this.entries[step], [field]: v };
    this.#keep();
  }

  // clear forgets the readings.
  clear() {
    this.entries = {};
    this.fit = null;
    this.#keep();
  }

  #keep() {
    if (this.#of === null) return;
    const k: Kept = { wish: this.wish, walk: this.walk, asked: this.asked, entries: this.entries };
    try {
      localStorage.setItem(key(this.#of), JSON.stringify(k));
    } catch {
      tasks.say("▲ This browser keeps nothing: write the readings down");
    }
  }

  // choose asks for a walk, and ends what was asked before.
  async choose() {
    this.#stop?.abort();
    const stop = (this.#stop = new AbortController());
    const asked: Asked = { begins: this.wish.begins, steps: this.wish.steps, ruler_mm: this.wish.rulerMM, avoid: this.wish.avoid };
    const task = tasks.start("Choosing the poses");
    this.working = true;
    this.problem = "";
    try {
      const walk = await worked<Walk>("/proof/walk", question.body({ ...asked }), stop.signal, task.share);
      if (this.#stop !== stop) return;
      this.walk = walk;
      this.asked = { ...asked, begins: walk.begins };
      this.entries = {};
      this.fit = this.accepted = null;
      this.step = 1;
      this.#keep();
    } catch (err) {
      if (!superseded(err) && this.#stop === stop) this.problem = words(err);
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

  // askFit fits anew when a reading changes; call it from an effect.
  askFit(): (() => void) | undefined {
    const { sheet, fresh, taken } = this;
    const { id, goodText: text } = draft;
    this.fitProblem = "";
    if (!sheet || !fresh || taken === 0) {
      this.fitting = false;
      if (!this.accepted) this.fit = null;
      return undefined;
    }
    const stop = new AbortController();
    this.fitting = true;
    const timer = setTimeout(async () => {
      try {
        const fit = await tasks.wait("Fitting the lengths", post<Fit>("/proof/fit", { id, text, sheet }, stop.signal));
        this.fit = fit;
        this.fitting = false;
      } catch (err) {
        if (superseded(err)) return;
        this.fit = null;
        this.fitting = false;
        this.fitProblem = words(err);
      }
    }, patience);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }

  // accept makes the corrected text the draft of the page: it is not saved by that, and undo takes it back.
  async accept() {
    const after = this.fit?.text;
    if (typeof after !== "string") return;
    this.accepted = { before: draft.text, after };
    await draft.change(after);
    tasks.say("The corrected lengths are in your draft; they are not saved yet");
  }

  async undo() {
    this.accepted = null;
    await draft.undo();
  }

  // rank asks which length to measure again.
  async rank() {
    this.#ranking?.abort();
    const stop = (this.#ranking = new AbortController());
    const task = tasks.start("Following the runs with better lengths");
    this.againWorking = true;
    this.againProblem = "";
    try {
      const doc = await worked<ToleranceDoc>("/proof/again", question.body({}), stop.signal, task.share);
      if (this.#ranking === stop) this.again = doc;
    } catch (err) {
      if (!superseded(err) && this.#ranking === stop) this.againProblem = words(err);
    } finally {
      task.end();
      if (this.#ranking === stop) this.againWorking = false;
    }
  }

  cancelRank() {
    this.#ranking?.abort();
    this.#ranking = null;
    this.againWorking = false;
  }
}

// read takes what an earlier visit left; nothing when it is of another form.
function read(text: string | null): Kept | null {
  try {
    const k = JSON.parse(text ?? "null") as Kept | null;
    if (!k || (k.walk !== null && !Array.isArray(k.walk.proof.steps))) return null;
    return k;
  } catch {
    return null;
  }
}

export const proof = new ProofWalk();
