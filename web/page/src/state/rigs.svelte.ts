import { get, words } from "../api/client";
import type { RigEntry } from "../api/shapes";
import { route } from "./route.svelte";

// Rigs is the list of the folder's rigs, kept fresh by the server's events.
class Rigs {
  list = $state<RigEntry[]>([]);
  state = $state<"loading" | "ready" | "error">("loading");
  problem = $state("");
  onfile: ((id: string, version: string) => void) | null = null; // a rig's file changed on disk

  #events: EventSource | null = null;

  constructor() {
    document.addEventListener("visibilitychange", () => this.#listen());
  }

  get chosen(): RigEntry | undefined {
    return this.list.find((r) => r.id === route.rig);
  }

  async load() {
    this.state = "loading";
    try {
      this.#take(await get<RigEntry[]>("/rigs"));
      this.#listen();
    } catch (err) {
      this.problem = words(err);
      this.state = "error";
    }
  }

  // #take shows a list. When the address names no rig it chooses the one that is watched, or else the first that can be read.
  #take(list: RigEntry[]) {
    this.list = list;
    this.state = "ready";
    if (this.chosen) return;
    const first = list.find((r) => r.watched) ?? list.find((r) => !r.problem) ?? list[0];
    if (route.rig === null && first) route.choose(first.id);
  }

  // #listen hears of what changes on disk while the tab is seen. A browser has six connections to the server for all its tabs: a
  // hidden one gives its own back, and hears on its return what it missed.
  #listen() {
    if (document.hidden || this.state !== "ready") {
      this.#events?.close();
      this.#events = null;
      return;
    }
    if (this.#events) return;
    this.#events = new EventSource("/api/events");
    this.#events.addEventListener("rigs", (e) => {
      const { rigs } = JSON.parse(e.data as string) as { rigs: RigEntry[] };
      this.#take(rigs);
      for (const r of rigs) this.onfile?.(r.id, r.version);
    });
    this.#events.addEventListener("file", (e) => {
      const f = JSON.parse(e.data as string) as { id: string; version: string };
      this.onfile?.(f.id, f.version);
    });
  }
}

export const rigs = new Rigs();
