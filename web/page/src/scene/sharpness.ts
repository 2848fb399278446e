// Sharpness says how finely the next picture is drawn: as finely as the screen shows, or, where that takes the renderer too long and
// the picture moves, so coarsely that it keeps up; a sharp one follows when it rests.
export class Sharpness {
  #cost = 0; // of a sharp picture, ms; 0 is not known yet
  #rest: ReturnType<typeof setTimeout> | undefined;
  #resting = true; // the next picture is the sharp one at rest

  constructor(
    readonly again: () => void, // has another picture made
  ) {}

  // share is the share of the screen's pixels along each side that the next picture has, 0 to 1.
  get share(): number {
    if (this.#resting || this.#cost <= budget) return 1;
    return Math.max(least, Math.floor(8 * Math.sqrt(budget / this.#cost)) / 8); // in steps, so that it does not tremble
  }

  // asked tells that something moved.
  asked() {
    if (this.#cost <= budget) return;
    this.#resting = false;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => {
      this.#resting = true;
      this.again();
    }, pause);
  }

  // took tells how long a picture of some share took, ms.
  took(share: number, ms: number) {
    const sharp = ms / (share * share);
    this.#cost = this.#cost === 0 ? sharp : this.#cost + (sharp - this.#cost) / 4;
  }

  dispose() {
    clearTimeout(this.#rest);
  }
}

export const budget = 20; // ms of a picture that moves: 30 a second, with time left for the rest of the page
const least = 0.375;
const pause = 200; // ms
