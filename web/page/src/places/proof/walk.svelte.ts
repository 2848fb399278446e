import { post, superseded, words } from "../../api/client";
import type { Fit, ToleranceDoc, Walk } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { Job } from "../../state/job.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import { empty, type Entry, type Field, readings } from "./readings";
import type { Axes } from "./standing";

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
  choosing = new Job<Walk>("Choosing the poses", "/proof/walk");
  again = new Job<ToleranceDoc>("Following the runs with better lengths", "/proof/again");

  fit = $state.raw<Fit | null>(null);
  fitProblem = $state("");
  fitting = $state(false);
  accepted = $state.raw<{ before: string; after: string } | null>(null);

  #of: string | null = null;

  // fresh tells whether the walk is for the rig as it is measured now.
  fresh = $derived(this.walk !== null && this.walk.sheet.fingerprint === draft.good?.fingerprint);
  taken = $derived(this.walk ? this.walk.sheet.steps.filter((s) => readings(this.entries[s.step] ?? empty).length > 0).length : 0);
  // sheet with the readings of now.
  sheet = $derived(
    this.walk
      ? {
          ...this.walk.sheet,
          steps: this.walk.sheet.steps.map((s) => {
            const e = this.entries[s.step] ?? empty;
            return { ...s, ...(e.at && { ra_axis_deg: e.at.ra, dec_axis_deg: e.at.dec }), readings_mm: readings(e) };
          }),
        }
      : null,
  );
  // openStep is the step to measure again before anything is corrected; null for none.
  openStep = $derived(this.fit?.fit.open ? (this.fit.fit.readings.find((r) => r.wrong)?.step ?? null) : null);
  shown = $derived(this.walk?.proof.steps.find((s) => s.step === this.step) ?? this.walk?.proof.steps[0] ?? null);

  open(id: string) {
    if (this.#of === id) return;
    this.#of = id;
    this.choosing.clear();
    this.again.clear();
    this.fitProblem = "";
    this.fit = this.accepted = null;
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

  enter(step: number, field: Field, v: string) {
    this.entries[step] = { ...empty, ...this.entries[step], [field]: v };
    this.#keep();
  }

  // take has the readings of a step count for where the mount stands, or again for where the walk has the step.
  take(step: number, at: Axes | null) {
    const { first, second, good } = this.entries[step] ?? empty;
    this.entries[step] = { first, second, good, ...(at && { at: { ra: Number(at.ra.toFixed(4)), dec: Number(at.dec.toFixed(4)) } }) };
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
    const asked: Asked = { begins: this.wish.begins, steps: this.wish.steps, ruler_mm: this.wish.rulerMM, avoid: this.wish.avoid };
    if (!(await this.choosing.ask(question.body({ ...asked }))) || !this.choosing.answer) return;
    this.walk = this.choosing.answer;
    this.asked = { ...asked, begins: this.walk.begins };
    this.entries = {};
    this.fit = this.accepted = null;
    this.step = 1;
    this.#keep();
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
