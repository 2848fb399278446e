import type { Change, Defect, Doc, Quantity } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { figuresOf } from "./drawing";
import { forDocument } from "./quantity";

const most = 100; // joints that may name one part

// Editor sends what is typed and moved to the draft, one change a field at a time, and keeps what the loader says of it.
class Editor {
  // By path: the text that stands in a field and is not in the draft, and what the loader says of it.
  typed = $state<Record<string, string | undefined>>({});
  problems = $state<Record<string, string | undefined>>({});
  refused = $state<Defect[]>([]); // why a part was not added, moved or taken away

  #waiting: { changes: Change[]; label: string; path: string } | null = null;
  #busy = false;

  doc = $derived(draft.good as Doc | null);
  figures = $derived(
    figuresOf([
      ...(this.doc?.settings ?? []).map((s) => ({ path: s.path, value: s.kind === "number" && s.value !== "" ? Number(s.value) : s.value })),
      ...(this.doc?.quantities ?? []),
    ]),
  );

  // write sends a value for a path. While one is under way the newest for its path waits, and those between are dropped.
  write(path: string, value: string, op: "set" | "note" = "set") {
    this.#queue({ changes: [{ op, path, value }], label: `${op} ${path}`, path });
  }

  // move writes a value that a slider or an arrow key gives: it is tried, so that what was never measured stays marked so.
  move(q: Quantity, value: number) {
    this.write(q.path, forDocument(value, q.tolerance, q.source === "unmeasured"));
  }

  #queue(next: { changes: Change[]; label: string; path: string }) {
    if (this.#busy) {
      if (this.#waiting && this.#waiting.path !== next.path) {
        // Another field's change waits already: both go together.
        next = { ...next, changes: [...this.#waiting.changes, ...next.changes] };
      }
      this.#waiting = next;
      return;
    }
    void this.#send(next);
  }

  async #send(next: { changes: Change[]; label: string; path: string }) {
    this.#busy = true;
    const errors = await draft.edit(next.changes, next.label);
    if (errors.length === 0) {
      this.forget(next.path);
    } else {
      this.problems[next.path] = errors.map((e) => sentence(e, next.path)).join("\n");
    }
    this.#busy = false;
    const waiting = this.#waiting;
    this.#waiting = null;
    if (waiting) await this.#send(waiting);
  }

  // arrange adds, moves, copies and takes away entries of lists; what is wrong with it stands at the head of the editor.
  async arrange(changes: Change[]): Promise<boolean> {
    this.refused = await draft.edit(changes);
    return this.refused.length === 0;
  }

  // remove takes an entry away, and with it the joints that name it: without the part they would mean nothing.
  async remove(path: string): Promise<boolean> {
    const changes: Change[] = [{ op: "delete", path }];
    for (;;) {
      if (await this.arrange(changes)) return true;
      const joint = this.refused.find((e) => /^(mount\.)?joints\[\d+\]$/.test(e.path));
      if (!joint || changes.length > most) return false;
      changes.push({ op: "delete", path: joint.path });
    }
  }

  forget(path: string) {
    this.typed[path] = this.problems[path] = undefined;
  }
}

// sentence gives a defect in the loader's own words; its place is named where it is another one.
export function sentence(e: Defect, at = ""): string {
  const place = e.path && e.path !== at ? `${e.path}: ` : "";
  return place + e.problem + (e.remedy ? `; ${e.remedy}` : "");
}

export const editor = new Editor();
