import { post, superseded, words } from "../../api/client";
import type { Altitudes, NightDoc } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { question } from "../../state/question.svelte";
import { tasks } from "../../state/tasks.svelte";
import * as settings from "./settings";
import { wishes } from "./wishes.svelte";

const patience = 400; // ms that a field must rest
const page = Math.random().toString(36).slice(2); // names this page to the server: a newer plan for it ends the older
const key = (id: string) => "legroom.night " + id;

interface Answer {
  asked: string; // the question, as JSON
  id: string;
  doc: NightDoc;
  altitudes: Altitudes;
}

// Plan is the night of the draft, for the page's targets and settings.
class Plan {
  date = $state<string | null>(null); // of the evening; null: tonight's
  settings = $state<settings.Settings>({ ...settings.standard });
  tonight = $state(""); // the date that the server takes for tonight's
  answer = $state.raw<Answer | null>(null);
  problem = $state("");
  working = $state(false);
  again = $state(0); // counts what else the answer depends on, such as a confirmation

  #of: string | null = null; // the rig that the settings are of
  #stop: AbortController | null = null;

  // body of the question of now.
  body = $derived({ ...question.body({}), ...(this.date === null ? {} : { date: this.date }), ...settings.ask(this.settings), targets: wishes.good });
  ready = $derived(draft.good !== null && wishes.id === draft.id && wishes.state === "ready" && wishes.good !== "");

  // shown is the answer while it is of this rig as it is measured now; a stale one of another fingerprint is never shown.
  shown = $derived(
    this.answer !== null && this.ready && this.answer.id === draft.id && this.answer.doc.fingerprint === draft.good?.fingerprint ? this.answer : null,
  );
  // fresh tells whether it is the answer to the question of now, down to the last setting.
  fresh = $derived(this.shown !== null && this.shown.asked === JSON.stringify([this.body, this.again]));

  // open takes the settings that the browser keeps for a rig.
  open(id: string) {
    if (this.#of === id) return;
    this.#of = id;
    this.date = null;
    this.tonight = "";
    this.settings = settings.read(localStorage.getItem(key(id)));
    post<Altitudes>("/altitudes", { id })
      .then((a) => {
        if (this.#of === id) this.tonight = a.night;
      })
      .catch(() => undefined); // a rig that cannot be read is told of elsewhere
  }

  set<K extends keyof settings.Settings>(k: K, v: settings.Settings[K]) {
    this.settings[k] = v;
    try {
      if (this.#of !== null) localStorage.setItem(key(this.#of), JSON.stringify(this.settings));
    } catch {
      // the browser keeps nothing
    }
  }

  restart() {
    this.settings = { ...settings.standard };
    if (this.#of !== null) localStorage.removeItem(key(this.#of));
  }

  // ask asks anew; call it from an effect. It waits for fields to rest, and ends what it asked before.
  ask(): (() => void) | undefined {
    const { body, ready } = this;
    const asked = JSON.stringify([body, this.again]);
    this.problem = "";
    if (!ready) {
      this.working = false;
      return undefined;
    }
    const stop = (this.#stop = new AbortController());
    this.working = true;
    const timer = setTimeout(() => void this.#run(body, asked, stop), patience);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }

  async #run(body: Plan["body"], asked: string, stop: AbortController) {
    try {
      const { id, text, targets } = body;
      const when = this.date === null ? {} : { date: this.date };
      const both = Promise.all([
        post<Altitudes>("/altitudes", { id, text, targets, ...when }, stop.signal).then((a) => {
          if (this.date === null && this.#stop === stop) this.tonight = a.night;
          return a;
        }),
        post<NightDoc>("/night", { ...body, page }, stop.signal),
      ]);
      const [altitudes, doc] = await tasks.wait("Planning the night", both);
      if (this.#stop !== stop || id === null) return;
      this.answer = { asked, id, doc, altitudes };
      this.problem = "";
    } catch (err) {
      if (superseded(err) || this.#stop !== stop) return;
      this.problem = words(err);
    } finally {
      if (this.#stop === stop) this.working = false;
    }
  }
}

export const plan = new Plan();
