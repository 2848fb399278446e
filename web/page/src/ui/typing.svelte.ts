// Typing is what stands in a field while it is typed into. What may be is written at once; what may not be leaves the value as it was
// before, and stands there with its error until it is mended, Escape is pressed, or the value changes otherwise.
export class Typing<V> {
  text = $state<string | null>(null);
  #before: V | undefined;
  #written: V | undefined;

  constructor(
    readonly value: () => V,
    readonly read: (text: string) => V | undefined, // undefined: it is refused
    readonly write: (value: V) => unknown,
  ) {}

  get wrong(): boolean {
    return this.text !== null && this.read(this.text) === undefined;
  }

  type(text: string) {
    if (this.text === null) this.#before = this.#written = this.value();
    this.text = text;
    this.#put(this.read(text) ?? (this.#before as V));
  }

  // done ends it, unless what stands there is refused.
  done() {
    if (!this.wrong) this.text = null;
  }

  // undo ends it with the value that was there before.
  undo() {
    if (this.text === null) return;
    this.text = null;
    this.#put(this.#before as V);
  }

  // follow drops what stands there once the value was changed otherwise; call it from an effect.
  follow() {
    const now = this.value();
    if (this.text !== null && now !== this.#written) this.text = null;
  }

  #put(v: V) {
    if (v === this.#written) return;
    this.#written = v;
    this.write(v);
  }
}
