import { get, post, Problem, put, superseded, words } from "../../api/client";
import type { Change, Conflict, Defect, Target, TargetList } from "../../api/shapes";
import { tasks } from "../../state/tasks.svelte";
import { begun, change, type Entry, type Figure, value, whole } from "./entries";

const where = (id: string) => `/rigs/${encodeURIComponent(id)}/targets`;
const key = (id: string) => "legroom.targets " + id;

interface Kept {
  version: string;
  text: string;
}

// Wishes is the list of targets as the page has it: the text of the list beside the rig, with what the owner changed since. What is
// not saved with the rig is kept by the browser.
class Wishes {
  id = $state<string | null>(null);
  file = $state("");
  version = $state(""); // of the file that the text was made from; empty: there is none
  saved = $state(""); // its text
  text = $state("");
  errors = $state.raw<Defect[]>([]); // of the text
  targets = $state.raw<Target[]>([]); // of the last text without errors
  good = $state(""); // that text
  state = $state<"none" | "loading" | "ready" | "error">("none");
  problem = $state("");
  conflict = $state.raw<Conflict | null>(null);

  get dirty(): boolean {
    return this.state === "ready" && this.text !== this.saved;
  }

  #stop = new AbortController();
  #edits: Promise<unknown> = Promise.resolve(); // one after the other: each starts from the text that the one before gave

  async open(id: string) {
    this.#stop.abort();
    const stop = (this.#stop = new AbortController());
    if (this.id !== id) {
      this.state = "loading";
      this.targets = [];
      this.good = this.text = this.saved = "";
    }
    this.id = id;
    this.conflict = null;
    try {
      const list = await get<TargetList>(where(id), stop.signal);
      const kept = read(localStorage.getItem(key(id)));
      this.file = list.file;
      this.version = list.version;
      this.saved = list.text;
      if (kept !== null && kept.text !== list.text) {
        if (kept.version !== list.version) this.conflict = { title: "", status: 409, detail: "", version: list.version, text: list.text };
        this.version = kept.version;
        this.#took(await post<TargetList>("/targets", { id, text: kept.text }, stop.signal));
      } else {
        this.#took(list);
      }
      this.state = "ready";
      this.#keep();
    } catch (err) {
      if (superseded(err)) return;
      this.problem = words(err);
      this.state = "error";
    }
  }

  // add puts a target at the end; what is wrong with it comes back in words.
  add(e: Entry): Promise<string> {
    return this.#queue(() =>
      this.targets.length === 0 && this.errors.length === 0
        ? { text: begun(this.text, value(e)) }
        : { text: this.text, changes: [{ op: "set", path: `targets[${String(this.targets.length)}]`, value: value(e) }] },
    );
  }

  // figure writes one figure of a target; null takes it away.
  async figure(i: number, k: Figure, v: number | null): Promise<string> {
    const wrong = await this.#queue(() => ({ text: this.text, changes: [change(i, k, v)] }));
    const t = this.targets[i];
    if (wrong === "" || v === null || !t || t.priority || t.sub_s || t.wanted_s || t.extent_deg || t.filters.length > 0) return wrong;
    const again = await this.#queue(() => ({ text: this.text, changes: [whole(i, t, k, v)] }));
    return again === "" ? "" : wrong;
  }

  remove(i: number): Promise<string> {
    return this.#queue(() => ({ text: this.text, changes: [{ op: "delete", path: `targets[${String(i)}]` }] }));
  }

  move(i: number, to: number): Promise<string> {
    return this.#queue(() => ({ text: this.text, changes: [{ op: "move", path: `targets[${String(i)}]`, value: String(to) }] }));
  }

  // type takes a text as its owner typed it, with whatever is wrong in it.
  type(text: string) {
    this.text = text;
    this.#keep();
    this.#stop.abort();
    const stop = (this.#stop = new AbortController());
    setTimeout(() => {
      if (stop.signal.aborted || this.id === null) return;
      post<TargetList>("/targets", { id: this.id, text }, stop.signal)
        .then((list) => this.#took(list))
        .catch((err: unknown) => {
          if (!superseded(err)) tasks.say(`▲ ${words(err)}`);
        });
    }, 300);
  }

  // save writes the list over the version that it was made from, and over no other.
  async save() {
    const { id, version } = this;
    if (id === null || this.errors.length > 0) return;
    const text = this.targets.length === 0 ? "" : this.text;
    try {
      const list = await tasks.wait("Saving the targets", put<TargetList>(where(id), { version, text }));
      if (this.id !== id) return;
      this.version = list.version;
      this.saved = list.text;
      this.text = list.text;
      this.#took(list);
      this.conflict = null;
      this.#keep();
      tasks.say(list.version === "" ? `Taken away: ${list.file}` : `Saved: ${list.file}`);
    } catch (err) {
      const c = err instanceof Problem && err.status === 409 ? (err.body as Conflict) : null;
      if (c && this.id === id) this.conflict = c;
      else tasks.say(`▲ Not saved: ${words(err)}`);
    }
  }

  // takeFile gives the page's list up for what stands on disk.
  async takeFile() {
    if (this.id === null) return;
    localStorage.removeItem(key(this.id));
    await this.open(this.id);
  }

  // keepMine makes the page's list one that was made from what stands on disk, so that saving writes over that.
  keepMine() {
    const c = this.conflict;
    if (!c) return;
    this.version = c.version;
    this.saved = c.text;
    this.conflict = null;
    this.#keep();
  }

  #queue(make: () => { text: string; changes?: Change[] }): Promise<string> {
    const run = async (): Promise<string> => {
      const { id, text } = this;
      if (id === null) return "";
      try {
        const list = await post<TargetList>("/targets", { id, ...make() });
        if (this.id !== id || this.text !== text) return "";
        const [wrong] = list.errors;
        if (wrong) return wrong.remedy ? `${wrong.problem}; ${wrong.remedy}` : wrong.problem;
        this.#stop.abort();
        this.#took(list);
        this.#keep();
        return "";
      } catch (err) {
        return words(err);
      }
    };
    const done = this.#edits.then(run);
    this.#edits = done;
    return done;
  }

  #took(list: TargetList) {
    this.text = list.text;
    this.errors = list.errors;
    if (list.errors.length > 0) return;
    this.targets = list.targets;
    this.good = list.targets.length > 0 ? list.text : "";
  }

  #keep() {
    if (this.id === null) return;
    try {
      if (this.dirty) localStorage.setItem(key(this.id), JSON.stringify({ version: this.version, text: this.text } satisfies Kept));
      else localStorage.removeItem(key(this.id));
    } catch {
      // the browser keeps nothing; the list stands on the page as long as that is open
    }
  }
}

function read(text: string | null): Kept | null {
  try {
    const k = JSON.parse(text ?? "null") as Partial<Kept> | null;
    return k && typeof k.version === "string" && typeof k.text === "string" ? { version: k.version, text: k.text } : null;
  } catch {
    return null;
  }
}

export const wishes = new Wishes();
