import { get, post, Problem, put, superseded, words } from "../api/client";
import type { Change, Conflict, Doc, Edited, RigText } from "../api/shapes";
import { History } from "./history";
import { Keep, type Kept } from "./keep";
import { rigs } from "./rigs.svelte";
import { Tabs } from "./tabs";
import { tasks } from "./tasks.svelte";

const where = (id: string) => "/rigs/" + encodeURIComponent(id);

// Draft is the text of the chosen rig as the owner has it on the page, and what follows from it. Every question about gaps
// goes by this text; the server holds no drafts. What is not saved is kept by the browser, and what others write to the file
// is never overwritten.
class Draft {
  id = $state<string | null>(null);
  version = $state(""); // of the files that the text was made from
  base = $state(""); // the main file's text of that version
  text = $state("");
  doc = $state.raw<Doc | null>(null); // of the last text that was read; with errors when it cannot be
  good = $state.raw<Doc | null>(null); // of the last text without errors
  goodText = $state(""); // that text: what questions about gaps go by
  state = $state<"none" | "loading" | "ready" | "error">("none");
  problem = $state("");

  restored = $state<number | null>(null); // when the unsaved changes were made that an earlier visit left behind
  conflict = $state.raw<Conflict | null>(null); // what stands on disk, when that is no longer what the draft was made from
  elsewhere = $state(false); // another tab has this rig open
  editing = $state(0); // changes under way to the server
  kept = $state(true); // the browser keeps what is not saved
  undoable = $state(false);
  redoable = $state(false);

  get dirty(): boolean {
    return this.state === "ready" && this.text !== this.base;
  }

  #reading: AbortController | null = null;
  #history = new History();
  #tabs = new Tabs(() => (this.elsewhere = true));
  #keep = new Keep(localStorage, this.#tabs.own);
  #edits: Promise<unknown> = Promise.resolve(); // one after the other: each starts from the text that the one before gave
  #opened = 0;

  constructor() {
    rigs.onfile = (id, version) => void this.#changedOnDisk(id, version);
    window.addEventListener("beforeunload", (e) => {
      if (this.dirty && !this.kept) e.preventDefault();
    });
  }

  // open takes a rig from disk, and what an earlier visit left unsaved.
  async open(id: string) {
    if (this.id === id && this.state === "ready") return;
    this.#reading?.abort();
    const now = (this.#reading = new AbortController());
    const opened = ++this.#opened;
    this.id = id;
    this.state = "loading";
    this.doc = this.good = this.conflict = this.restored = null;
    this.elsewhere = false;
    this.#history.clear();
    try {
      const asked = this.#tabs.asked(id);
      const r = await tasks.wait("Reading the rig", get<RigText>(where(id), now.signal));
      this.#based(r);
      this.#took(r.text, r.doc);
      await asked;
      if (opened !== this.#opened) return;
      const { others } = this.#tabs;
      this.elsewhere = others.length > 0;
      const [left] = this.#keep.find(id, others);
      if (left && this.text === r.text) await this.#restore(left, r);
    } catch (err) {
      if (superseded(err)) return;
      this.problem = words(err);
      this.state = "error";
    }
  }

  // again reads a rig that did not come.
  async again() {
    if (this.id !== null && this.state === "error") await this.open(this.id);
  }

  // change puts another text in the draft's place and reads it; what was asked before is dropped. Changes under one label that
  // follow each other are one step to undo.
  async change(text: string, label = "") {
    if (text !== this.text) this.#history.push(this.text, label);
    await this.#put(text);
  }

  // edit changes the text on the server, which keeps its comments, and takes the answer when the rig can still be read; otherwise
  // the draft stays and what is wrong comes back.
  edit(changes: Change[], label = ""): Promise<Doc["errors"]> {
    const run = async (): Promise<Doc["errors"]> => {
      const { id, text } = this;
      try {
        const e = await post<Edited>("/edit", { id, text, changes });
        if (this.id !== id || this.text !== text) return [];
        if (e.doc.errors.length > 0) return e.doc.errors;
        if (e.text !== text) this.#history.push(text, label);
        this.#reading?.abort();
        this.#took(e.text, e.doc);
        this.#store();
        return [];
      } catch (err) {
        return [{ file: "", line: 0, col: 0, path: changes[0]?.path ?? "", problem: words(err), remedy: "" }];
      } finally {
        this.editing--;
      }
    };
    this.editing++;
    const done = this.#edits.then(run);
    this.#edits = done;
    return done;
  }

  async undo() {
    const text = this.#history.undo(this.text);
    if (text !== undefined) await this.#put(text);
  }

  async redo() {
    const text = this.#history.redo(this.text);
    if (text !== undefined) await this.#put(text);
  }

  // save writes the draft over the version that it was made from, and over no other.
  async save() {
    const { id, text, version } = this;
    if (id === null || !this.dirty || this.conflict) return;
    try {
      const r = await tasks.wait("Saving", put<RigText>(where(id), { version, text }));
      if (this.id !== id) return;
      this.#based(r);
      this.restored = null;
      this.#store();
      tasks.say(`Saved: ${id}.yaml`);
    } catch (err) {
      const c = err instanceof Problem && err.status === 409 ? (err.body as Conflict) : null;
      if (c && this.id === id) this.conflict = c;
      else tasks.say(`Not saved: ${words(err)}`);
    }
  }

  // takeFile gives the draft up for what stands on disk; undo brings it back.
  async takeFile() {
    const c = this.conflict;
    if (!c) return;
    this.version = c.version;
    this.base = c.text;
    this.conflict = this.restored = null;
    await this.change(c.text);
  }

  // keepCopy writes the draft to a new file beside the one that was changed, and goes on with that; it gives its id.
  async keepCopy(): Promise<string | null> {
    const { id, text } = this;
    if (id === null) return null;
    try {
      const r = await tasks.wait("Writing a copy", post<RigText>(where(id) + "/copies", { text }));
      this.#keep.drop(id);
      this.state = "none";
      tasks.say(`Kept as ${r.id}.yaml; ${id}.yaml is as it was written`);
      return r.id;
    } catch (err) {
      tasks.say(`No copy: ${words(err)}`);
      return null;
    }
  }

  // revert drops what is not saved; undo brings it back.
  async revert() {
    this.restored = null;
    await this.change(this.base);
  }

  async #put(text: string) {
    this.text = text;
    this.#marks();
    this.#store();
    this.#reading?.abort();
    const now = (this.#reading = new AbortController());
    try {
      this.#took(text, await post<Doc>("/read", { id: this.id, text }, now.signal));
    } catch (err) {
      if (!superseded(err)) tasks.say(words(err));
    }
  }

  async #restore(left: Kept, r: RigText) {
    if (left.tab !== this.#tabs.own) this.#keep.drop(left.id, left.tab);
    if (left.text === r.text) {
      this.#keep.drop(left.id);
      return;
    }
    this.restored = left.at;
    if (left.version !== r.version) {
      this.version = left.version;
      this.base = left.base;
      this.conflict = { title: "", status: 409, detail: "", version: r.version, text: r.text };
    }
    await this.change(left.text);
  }

  async #changedOnDisk(id: string, version: string) {
    if (id !== this.id || this.state !== "ready" || version === this.version || version === this.conflict?.version) return;
    try {
      const r = await get<RigText>(where(id));
      if (id !== this.id || r.version === this.version) return;
      if (this.dirty) {
        this.conflict = { title: "", status: 409, detail: "", version: r.version, text: r.text };
        return;
      }
      if (r.text !== this.text) this.#history.push(this.text);
      this.#based(r);
      this.#took(r.text, r.doc);
      tasks.say(`${id}.yaml was changed on disk: the page shows it as it is now`);
    } catch {
      const gone: Conflict = { title: "", status: 409, detail: "", version: "", text: "" };
      if (id === this.id) this.conflict = gone;
    }
  }

  #based(r: RigText) {
    this.version = r.version;
    this.base = r.text;
  }

  #took(text: string, doc: Doc) {
    this.text = text;
    this.doc = doc;
    if (doc.errors.length === 0) {
      this.good = doc;
      this.goodText = text;
    }
    this.state = "ready";
    this.#marks();
  }

  #marks() {
    this.undoable = this.#history.undoable;
    this.redoable = this.#history.redoable;
  }

  #store() {
    if (this.id === null) return;
    if (this.dirty) this.kept = this.#keep.put({ id: this.id, version: this.version, base: this.base, text: this.text });
    else this.#keep.drop(this.id);
  }
}

export const draft = new Draft();
