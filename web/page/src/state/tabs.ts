interface Message {
  from: string;
  rig: string;
  asks: boolean;
}

const patience = 120; // ms that other tabs have to answer

// Tabs tells this tab's page of the others that have the same rig open.
export class Tabs {
  readonly own: string;
  #rig = "";
  #channel: BroadcastChannel;
  #heard = new Set<string>();

  // seen is called when another tab with this rig shows up.
  constructor(seen: () => void) {
    // The name outlives a reload; a tab that was copied with its storage gets another one.
    const navigated = performance.getEntriesByType("navigation")[0] as PerformanceNavigationTiming | undefined;
    const old = navigated?.type === "reload" || navigated?.type === "back_forward" ? sessionStorage.getItem("legroom.tab") : null;
    this.own = old ?? crypto.randomUUID();
    sessionStorage.setItem("legroom.tab", this.own);
    this.#channel = new BroadcastChannel("legroom.tabs");
    this.#channel.onmessage = (e: MessageEvent<Message>) => {
      const m = e.data;
      if (m.rig !== this.#rig || m.from === this.own) return;
      this.#heard.add(m.from);
      if (m.asks) {
        this.#send(false);
        seen();
      }
    };
  }

  // living gives the other tabs that have a rig open, after it was announced that this one has.
  async living(rig: string): Promise<string[]> {
    this.#rig = rig;
    this.#heard.clear();
    this.#send(true);
    await new Promise((done) => setTimeout(done, patience));
    return [...this.#heard];
  }

  #send(asks: boolean) {
    this.#channel.postMessage({ from: this.own, rig: this.#rig, asks } satisfies Message);
  }
}
