// Kept is a draft that is not saved yet, as the browser keeps it through a reload or a crash.
export interface Kept {
  id: string;
  tab: string;
  version: string; // of the file that it was made from
  base: string; // the text of that file
  text: string;
  at: number; // ms since 1970
}

// Store is what Keep needs of the browser's localStorage.
export type Store = Pick<Storage, "getItem" | "setItem" | "removeItem" | "key" | "length">;

const prefix = "legroom.draft ";

// Keep holds unsaved drafts, one a rig and tab, so that two tabs do not write over each other's.
export class Keep {
  constructor(
    readonly store: Store,
    readonly tab: string,
  ) {}

  // put keeps a draft; false when the browser has no space or keeps nothing.
  put(k: Omit<Kept, "tab" | "at">, now = Date.now()): boolean {
    try {
      this.store.setItem(this.#key(k.id, this.tab), JSON.stringify({ ...k, tab: this.tab, at: now } satisfies Kept));
      return true;
    } catch {
      return false;
    }
  }

  drop(id: string, tab = this.tab) {
    try {
      this.store.removeItem(this.#key(id, tab));
    } catch {
      // nothing was kept either
    }
  }

  // find gives the drafts of a rig that no living tab holds, this tab's own first and then the newest.
  find(id: string, living: readonly string[]): Kept[] {
    const out: Kept[] = [];
    try {
      for (let i = 0; i < this.store.length; i++) {
        const key = this.store.key(i);
        if (!key?.startsWith(prefix)) continue;
        const k = read(this.store.getItem(key));
        if (k && k.id === id && (k.tab === this.tab || !living.includes(k.tab))) out.push(k);
      }
    } catch {
      return [];
    }
    return out.sort((a, b) => Number(b.tab === this.tab) - Number(a.tab === this.tab) || b.at - a.at);
  }

  #key(id: string, tab: string): string {
    return prefix + JSON.stringify([id, tab]);
  }
}

function read(text: string | null): Kept | undefined {
  try {
    const k = JSON.parse(text ?? "null") as Partial<Kept> | null;
    const whole = k && [k.id, k.tab, k.version, k.base, k.text].every((s) => typeof s === "string") && typeof k.at === "number";
    return whole ? (k as Kept) : undefined;
  } catch {
    return undefined;
  }
}
