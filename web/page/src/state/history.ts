// History is a stack of texts to go back and forth on. Changes that follow each other under one label within a moment are one
// step: a slider's way, or what was typed into one field.
export class History {
  #past: string[] = [];
  #future: string[] = [];
  #label = "";
  #at = 0;

  get undoable(): boolean {
    return this.#past.length > 0;
  }

  get redoable(): boolean {
    return this.#future.length > 0;
  }

  // push remembers the text that a change is about to replace.
  push(text: string, label = "", now = Date.now()) {
    const follows = label !== "" && label === this.#label && now - this.#at < moment && this.#past.length > 0;
    if (!follows) this.#past.push(text);
    if (this.#past.length > most) this.#past.shift();
    this.#future = [];
    this.#label = label;
    this.#at = now;
  }

  // undo gives the text before the last change; the text of now is what redo gives back.
  undo(now: string): string | undefined {
    return this.#step(this.#past, this.#future, now);
  }

  redo(now: string): string | undefined {
    return this.#step(this.#future, this.#past, now);
  }

  clear() {
    this.#past = [];
    this.#future = [];
    this.#label = "";
  }

  #step(from: string[], to: string[], now: string): string | undefined {
    const text = from.pop();
    if (text === undefined) return undefined;
    to.push(now);
    this.#label = "";
    return text;
  }
}

const moment = 1500; // ms
const most = 200; // texts of some 10 kB each
