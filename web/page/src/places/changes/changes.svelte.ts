import { get, words } from "../../api/client";
import type { Compared, LoadDoc, Scanned, ShortDoc, Solved } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { Job } from "../../state/job.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import { wishes } from "../tonight/wishes.svelte";
import { aimText, loadAsked, read, sections, type Variant, type Wish, usual } from "./wish";

const key = (id: string) => "legroom.changes " + id;

// Changes is what would help: variants of the draft beside it, and the solver.
class Changes {
  wish = $state<Wish>(usual());
  names = $state.raw<ShortDoc[]>([]);
  compare = new Job<Compared>("Measuring the variants", "/change/compare");
  solve = new Job<Solved>("Looking for the best", "/change/solve");
  scan = new Job<Scanned>("Looking along the variables", "/change/scan");
  load = new Job<LoadDoc>("Working the load out", "/load");

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
  loadBody = $derived(question.body(loadAsked(this.wish.load)));
  ready = $derived(draft.good !== null && (wishes.id !== draft.id || wishes.state === "ready" || wishes.state === "error"));

  open(id: string) {
    if (this.#of === id) return;
    this.#of = id;
    this.wish = read(localStorage.getItem(key(id)));
    for (const j of [this.compare, this.solve, this.scan, this.load]) j.clear();
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
    return u === "deg" ? "°" : u === "" ? "" : "\u202f" + u;
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
