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

  // seen is called when another tab with this rig shows up, or answers late because it was busy.
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
      if (m.asks) this.#send(false);
      seen();
    };
  }

  // others are the tabs that have the rig open too, as far as they have been heard.
  get others(): string[] {
    return [...this.#heard];
  }

  // asked announces that this tab has a rig open, and gives the others the time to say that they have.
  async asked(rig: string): Promise<void> {
    this.#rig = rig;
    this.#heard.clear();
    this.#send(true);
    await new Promise((done) => setTimeout(done, patience));
  }

  // close leaves the others: nothing is heard or answered any more.
  close() {
    this.#channel.close();
  }

  #send(asks: boolean) {
    this.#channel.postMessage({ from: this.own, rig: this.#rig, asks } satisfies Message);
  }
}
