// Fresh tells how old what was last heard is, by whichever of the page's two clocks has gone further: one stands still while the
// computer sleeps, the other may be set.
export class Fresh {
  #steady: number | null = null;
  #wall = 0;

  constructor(
    readonly steady: () => number = () => performance.now(),
    readonly wall: () => number = () => Date.now(),
  ) {}

  heard() {
    this.#steady = this.steady();
    this.#wall = this.wall();
  }

  forget() {
    this.#steady = null;
  }

  // age in milliseconds; endless before anything was heard.
  age(): number {
    if (this.#steady === null) return Infinity;
    return Math.max(this.steady() - this.#steady, Math.abs(this.wall() - this.#wall));
  }
}
