import { get, post, superseded, words } from "../api/client";
import type { Doc, RigText } from "../api/shapes";
import { tasks } from "./tasks.svelte";

// Draft is the text of the chosen rig as the owner has it on the page, and what follows from it. Every question about gaps
// goes by this text; the server holds no drafts.
class Draft {
  id = $state<string | null>(null);
  version = $state(""); // of the files that the text was made from
  text = $state("");
  doc = $state.raw<Doc | null>(null); // of the last text that was read; with errors when it cannot be
  good = $state.raw<Doc | null>(null); // of the last text without errors
  state = $state<"none" | "loading" | "ready" | "error">("none");
  problem = $state("");

  #reading: AbortController | null = null;

  // open takes a rig from disk.
  async open(id: string) {
    if (this.id === id && this.state === "ready") return;
    this.#reading?.abort();
    const now = (this.#reading = new AbortController());
    this.id = id;
    this.state = "loading";
    this.doc = this.good = null;
    try {
      const r = await tasks.wait("Reading the rig", get<RigText>("/rigs/" + id.split("/").map(encodeURIComponent).join("/"), now.signal));
      this.version = r.version;
      this.text = r.text;
      this.#took(r.doc);
    } catch (err) {
      if (superseded(err)) return;
      this.problem = words(err);
      this.state = "error";
    }
  }

  // change puts another text in the draft's place and reads it; what was asked before is dropped.
  async change(text: string) {
    this.text = text;
    this.#reading?.abort();
    const now = (this.#reading = new AbortController());
    try {
      this.#took(await post<Doc>("/read", { id: this.id, text }, now.signal));
    } catch (err) {
      if (!superseded(err)) tasks.say(words(err));
    }
  }

  #took(doc: Doc) {
    this.doc = doc;
    if (doc.errors.length === 0) this.good = doc;
    this.state = "ready";
  }
}

export const draft = new Draft();
