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

  // #take shows a list, and chooses its first rig that can be read when the address names none.
  #take(list: RigEntry[]) {
    this.list = list;
    this.state = "ready";
    if (this.chosen) return;
    const first = list.find((r) => !r.problem) ?? list[0];
    if (route.rig === null && first) route.choose(first.id);
  }

  #listen() {
    if (this.#events) return;
    this.#events = new EventSource("/api/events");
    this.#events.addEventListener("rigs", (e) => this.#take((JSON.parse(e.data as string) as { rigs: RigEntry[] }).rigs));
    this.#events.addEventListener("file", (e) => {
      const f = JSON.parse(e.data as string) as { id: string; version: string };
      this.onfile?.(f.id, f.version);
    });
  }
}

export const rigs = new Rigs();
