import { Clock } from "../tonight/clock";

// When writes moments as a clock at the site shows them, with seconds.
export class When {
  #clock: Clock;

  constructor(readonly zone: string) {
    const utc = new Date().toISOString();
    this.#clock = new Clock(zone, utc, utc);
  }

  // time is "21:04:12"; "–" for a moment that is none.
  time(at: number | string | null | undefined, digits = 8): string {
    const ms = typeof at === "string" ? Date.parse(at) : (at ?? NaN);
    if (!Number.isFinite(ms)) return "–";
    return new Date(ms + this.#clock.offsetAt(ms) * 60000).toISOString().slice(11, 11 + digits);
  }

  minute(at: number | string | null | undefined): string {
    return this.time(at, 5);
  }

  date(at: number | string): string {
    const ms = typeof at === "string" ? Date.parse(at) : at;
    return new Date(ms + this.#clock.offsetAt(ms) * 60000).toISOString().slice(0, 10);
  }
}
