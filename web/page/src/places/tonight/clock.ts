// Clock writes moments as a clock at the site shows them. Moments are milliseconds since 1970.
export class Clock {
  readonly offset: boolean; // the zone's offset stands behind each time: it changes in the night
  readonly utc: boolean; // UTC is another
  #format: Intl.DateTimeFormat | null = null;
  #fixed: number; // offset of a zone that the browser does not know, minutes

  // The night runs from noon to noon; both come from the server, with the site's offset.
  constructor(zone: string, from: string, to: string) {
    this.#fixed = offsetOf(from);
    try {
      this.#format = new Intl.DateTimeFormat("en-GB", {
        timeZone: zone,
        hourCycle: "h23",
        year: "numeric",
        month: "2-digit",
        day: "2-digit",
        hour: "2-digit",
        minute: "2-digit",
        second: "2-digit",
      });
    } catch {
      this.#format = null;
    }
    this.offset = offsetOf(from) !== offsetOf(to);
    this.utc = offsetOf(from) !== 0 || offsetOf(to) !== 0;
  }

  // offsetAt is the zone's offset from UTC, minutes.
  offsetAt(ms: number): number {
    if (!this.#format) return this.#fixed;
    const part: Record<string, number> = {};
    for (const p of this.#format.formatToParts(ms)) part[p.type] = Number(p.value);
    const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = part;
    return Math.round((Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(ms / 1000) * 1000) / 60000);
  }

  // at writes a whole minute, "20:53", or "20:53+2" in a night in which the clocks change.
  at(ms: number): string {
    const off = this.offsetAt(ms);
    return hhmm(ms + off * 60000) + (this.offset ? short(off) : "");
  }

  // both writes a whole minute with UTC behind it.
  both(ms: number): string {
    return this.utc ? `${this.at(ms)} (${hhmm(ms)} UTC)` : this.at(ms);
  }

  // span writes a window rounded inwards to whole minutes; "" when nothing is left of it.
  span(w: readonly string[], write: (ms: number) => string = (ms) => this.at(ms)): string {
    const [a, b] = inwards(w);
    return a < b ? `${write(a)}–${write(b)}` : "";
  }

  spans(ws: readonly (readonly string[])[]): string {
    const out = ws.map((w) => this.span(w)).filter((s) => s !== "");
    return out.length > 0 ? out.join(", ") : "–";
  }

  // spansUTC writes windows in UTC.
  spansUTC(ws: readonly (readonly string[])[]): string {
    return ws.map((w) => this.span(w, hhmm)).filter((s) => s !== "").join(", ");
  }

  // hours gives the whole hours of the site's clock in a stretch.
  hours(from: number, to: number): { ms: number; hour: number; change: string }[] {
    const out: { ms: number; hour: number; change: string }[] = [];
    const quarter = 15 * 60000;
    let before: number | null = null;
    for (let ms = Math.ceil(from / quarter) * quarter; ms <= to; ms += quarter) {
      const off = this.offsetAt(ms);
      const change = before !== null && off !== before ? `the clocks change: UTC${short(off)}` : "";
      before = off;
      const local = new Date(ms + off * 60000);
      if (local.getUTCMinutes() === 0 || change) out.push({ ms, hour: local.getUTCHours(), change });
    }
    return out;
  }
}

// offsetOf reads the offset of an RFC 3339 moment, minutes.
export function offsetOf(s: string): number {
  const m = /([+-])(\d\d):(\d\d)$/.exec(s);
  return m ? (m[1] === "-" ? -1 : 1) * (Number(m[2]) * 60 + Number(m[3])) : 0;
}

function hhmm(ms: number): string {
  return new Date(ms).toISOString().slice(11, 16);
}

export const utc = hhmm;

function short(min: number): string {
  const [h, m] = [Math.floor(Math.abs(min) / 60), Math.abs(min) % 60];
  return (min < 0 ? "\u2212" : "+") + String(h) + (m > 0 ? `:${String(m).padStart(2, "0")}` : "");
}

const minute = 60000;

// What a plan may use is rounded inwards to whole minutes, what merely happens to the nearest.
export const down = (s: string): number => Math.floor(Date.parse(s) / minute) * minute;
export const up = (s: string): number => Math.ceil(Date.parse(s) / minute) * minute;
export const near = (s: string): number => Math.round(Date.parse(s) / minute) * minute;

export function inwards(w: readonly string[]): [number, number] {
  const [a = "", b = ""] = w;
  return [up(a), down(b)];
}

// length writes minutes as "1 h 18 min".
export function length(min: number): string {
  const m = Math.round(min);
  if (m < 60) return `${String(m)} min`;
  return m % 60 === 0 ? `${String(m / 60)} h` : `${String(Math.floor(m / 60))} h ${String(m % 60).padStart(2, "0")} min`;
}
