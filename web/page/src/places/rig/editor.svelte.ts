import type { Change, Defect, Doc, Quantity } from "../../api/shapes";
import { draft } from "../../state/draft.svelte";
import { figuresOf } from "./drawing";
import { forDocument, written, wrong } from "./quantity";

const most = 100; // joints that may name one part

interface Write {
  change: Change;
  done: string | undefined; // what stood in the field, and need not stay there once it is written
}

// Editor sends what is typed and moved to the draft, one change a field at a time, and keeps what the loader says of it.
class Editor {
  // By path: the text that stands in a field and is not in the draft, and what the loader says of it.
  typed = $state<Record<string, string | undefined>>({});
  problems = $state<Record<string, string | undefined>>({});
  refused = $state<Defect[]>([]); // why a part was not added, moved or taken away

  #waiting: Write[] = [];
  #sending: Promise<void> | null = null;

  #of: string | null = null;

  doc = $derived(draft.good as Doc | null);
  // unread are the fields whose text is refused: the draft, and what is saved, holds what was there before.
  unread = $derived(
    [...(this.doc?.quantities ?? []).filter((q) => this.problems[q.path] !== undefined || wrong(this.typed[q.path] ?? written(q), q) !== ""), ...(this.doc?.settings ?? []).filter((s) => this.problems[s.path] !== undefined)].length,
  );

  figures = $derived(
    figuresOf([
      ...(this.doc?.settings ?? []).map((s) => ({ path: s.path, value: s.kind === "number" && s.value !== "" ? Number(s.value) : s.value })),
      ...(this.doc?.quantities ?? []),
    ]),
  );

  // write sends a value for a path. While others are under way the newest for each path waits. What was typed stays in its field, where
  // more may be typed, until it is told to be done.
  write(path: string, value: string, { op = "set", done }: { op?: "set" | "note"; done?: string } = {}) {
    this.#waiting = this.#waiting.filter((w) => w.change.path !== path || w.change.op !== op);
    this.#waiting.push({ change: { op, path, value }, done });
    this.#sending ??= this.#send();
  }

  // move writes a value that a slider or an arrow key gives: it is tried, so that what was never measured stays marked so.
  move(q: Quantity, value: number) {
    this.write(q.path, forDocument(value, q.tolerance, q.source));
  }

  async #send() {
    for (let now = this.#waiting.shift(); now; now = this.#waiting.shift()) {
      const { change, done } = now;
      const errors = await draft.edit([change], `${change.op} ${change.path}`);
      this.problems[change.path] = errors.map((e) => sentence(e, change.path)).join("\n") || undefined;
      if (errors.length === 0 && this.typed[change.path] === done) this.typed[change.path] = undefined;
    }
    this.#sending = null;
  }

  // rested waits until what was written has been answered.
  async rested() {
    while (this.#sending) await this.#sending;
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

  // open empties what stands in the fields of another rig; it tells whether it was another.
  open(id: string | null): boolean {
    if (this.#of === id) return false;
    this.#of = id;
    this.typed = {};
    this.problems = {};
    this.refused = [];
    return true;
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
