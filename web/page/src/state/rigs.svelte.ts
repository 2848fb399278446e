import { get, words } from "../api/client";
import type { RigEntry } from "../api/shapes";
import { route } from "./route.svelte";
import { server } from "./server.svelte";

// Rigs is the list of the folder's rigs, kept fresh by the server's events.
class Rigs {
  list = $state<RigEntry[]>([]);
  state = $state<"loading" | "ready" | "error">("loading");
  problem = $state("");
  onfile: ((id: string, version: string) => void) | null = null; // a rig's file changed on disk

  constructor() {
    server.on<{ rigs: RigEntry[] }>("rigs", ({ rigs }) => {
      if (this.state !== "ready") return;
      this.#take(rigs);
      for (const r of rigs) this.onfile?.(r.id, r.version);
    });
    server.on<{ id: string; version: string }>("file", (f) => this.onfile?.(f.id, f.version));
  }

  get chosen(): RigEntry | undefined {
    return this.list.find((r) => r.id === route.rig);
  }

  async load() {
    this.state = "loading";
    try {
      this.#take(await get<RigEntry[]>("/rigs"));
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
}

export const rigs = new Rigs();
