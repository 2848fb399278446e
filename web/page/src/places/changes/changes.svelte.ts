import { get, superseded, words } from "../../api/client";
import { worked } from "../../api/worked";
import type { Compared, Scanned, ShortDoc, Solved } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import { wishes } from "../tonight/wishes.svelte";
import { aimText, read, sections, type Variant, type Wish, usual } from "./wish";

const key = (id: string) => "legroom.changes " + id;

// Job is one question that takes its time: what it was asked, and what came.
class Job<T> {
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

  // ask takes the place of the question before.
  async ask(body: object) {
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
      if (this.#stop !== stop) return;
      this.answer = answer;
      this.asked = JSON.stringify(body);
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

  clear() {
    this.cancel();
    this.answer = null;
    this.problem = this.asked = "";
  }
}

// Changes is what would help: variants of the draft beside it, and the solver.
class Changes {
  wish = $state<Wish>(usual());
  names = $state.raw<ShortDoc[]>([]);
  compare = new Job<Compared>("Measuring the variants", "/change/compare");
  solve = new Job<Solved>("Looking for the best", "/change/solve");
  scan = new Job<Scanned>("Looking along the variables", "/change/scan");

  #of: string | null = null;

  // base of every question. The owner's targets are those of the place Tonight; without any, declinations 10° apart stand for them.
  base = $derived(question.body(wishes.id === draft.id && wishes.good !== "" ? { targets: wishes.good } : {}));
  own = $derived("targets" in this.base);
  compareBody = $derived({ ...this.base, lost: this.own ? this.wish.lost : "none", variants: this.wish.variants.filter(whole).map(asked) });
  solveBody = $derived({
    ...this.base,
    aim: aimText(this.wish.aim),
    variables: this.wish.vary,
    keep: { balance: this.wish.keep.balance, cables: this.wish.keep.cables, tip_mm: this.wish.keep.tipMM, push_n: this.wish.keep.pushN },
  });
  ready = $derived(draft.good !== null && (wishes.id !== draft.id || wishes.state === "ready" || wishes.state === "error"));

  open(id: string) {
    if (this.#of === id) return;
    this.#of = id;
    this.wish = read(localStorage.getItem(key(id)));
    for (const j of [this.compare, this.solve, this.scan]) j.clear();
    if (this.names.length > 0) return;
    get<ShortDoc[]>("/change/names")
      .then((n) => (this.names = n))
      .catch((err: unknown) => tasks.say(`▲ ${words(err)}`));
  }

  // kept writes down what is asked for; call it after each change of the wish.
  kept() {
    try {
      if (this.#of !== null) localStorage.setItem(key(this.#of), JSON.stringify(this.wish));
    } catch {
      // the browser keeps nothing
    }
  }

  named(path: string): string {
    const n = this.names.find((x) => x.name === path);
    if (n) return n.words.split(/[;,]/)[0] ?? path;
    const q = draft.good?.quantities.find((x) => x.path === path);
    return q ? `${q.of} ${q.label}`.trim() : path;
  }

  unit(path: string): string {
    const u = this.names.find((x) => x.name === path)?.unit ?? draft.good?.quantities.find((x) => x.path === path)?.unit ?? "";
    return u === "deg" ? "°" : u === "" ? "" : "\u2009" + u;
  }
}

export const whole = (v: Variant) => v.edits.length > 0 && v.edits.every((e) => e.path !== "" && e.value.trim() !== "");

// nameOf is the owner's name of a variant, or what it changes.
export function nameOf(v: Variant): string {
  return v.name.trim() || v.edits.map((e) => `${e.path} ${e.value.trim()}`).join(", ");
}

function asked(v: Variant) {
  const number = (s: string) => s.trim().replace("\u2212", "-");
  return { name: nameOf(v), edits: v.edits.map((e) => (sections.includes(e.path) ? { path: e.path, file: e.value.trim() } : { path: e.path, value: number(e.value) })) };
}

export const changes = new Changes();
