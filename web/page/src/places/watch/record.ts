import type { NightRecord, WatchEvent, WatchRecord, WatchSample } from "../../api/shapes";

// A night that was kept, as the page plays it.

// told turns what was decided, sent, done and gone wrong into one list in the order of time.
export function told(records: WatchRecord[]): WatchEvent[] {
  const out: WatchEvent[] = [];
  for (const r of records) {
    const add = (level: string, text: string, key: string, over = false) => out.push({ id: out.length + 1, at: r.at, key, level, text, over });
    if (r.event) add(r.event.level, r.event.text, r.event.key, r.event.over ?? false);
    else if (r.decision) add(r.decision.to === "watching" ? "note" : "warning", `From ${r.decision.from} to ${r.decision.to}: ${r.decision.why}`, "decision");
    else if (r.command) add(r.command.ok ? "note" : "warning", `The mount was told: ${r.command.name}. ${r.command.answer}`, "command");
    else if (r.error) add("warning", `${r.error.where}: ${r.error.text}`, "error");
  }
  return out.sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

// Course finds where the rig stood at a moment.
export class Course {
  readonly at: number[]; // of the samples, ms
  readonly far: number; // ms between two samples that are still one course

  constructor(readonly samples: WatchSample[]) {
    this.at = samples.map((s) => Date.parse(s.got));
    const steps = this.at.slice(1).map((t, i) => t - (this.at[i] ?? t)).sort((a, b) => a - b);
    this.far = 4 * Math.max(steps[Math.floor(steps.length / 2)] ?? 0, 1000);
  }

  // index of the last sample at or before a moment; -1 before the first.
  index(ms: number): number {
    let [lo, hi] = [0, this.at.length];
    while (lo < hi) {
      const mid = (lo + hi) >> 1;
      if ((this.at[mid] ?? Infinity) <= ms) lo = mid + 1;
      else hi = mid;
    }
    return lo - 1;
  }

  // sample that holds at a moment; null where there is none near.
  sample(ms: number): WatchSample | null {
    const i = this.index(ms);
    const s = this.samples[i];
    return s && ms - (this.at[i] ?? 0) <= this.far ? s : null;
  }

  // axes gives the axis angles at a moment, evenly between two samples that are near each other.
  axes(ms: number): { ra: number; dec: number } | null {
    const i = this.index(ms);
    const a = this.sample(ms);
    if (typeof a?.ra_axis_deg !== "number" || a.dec_axis_deg === null) return null;
    const b = this.samples[i + 1];
    const [from = 0, to = 0] = [this.at[i], this.at[i + 1]];
    if (typeof b?.ra_axis_deg !== "number" || b.dec_axis_deg === null || to - from > this.far) return { ra: a.ra_axis_deg, dec: a.dec_axis_deg };
    const t = (ms - from) / (to - from);
    return { ra: a.ra_axis_deg + t * (b.ra_axis_deg - a.ra_axis_deg), dec: a.dec_axis_deg + t * (b.dec_axis_deg - a.dec_axis_deg) };
  }
}

export interface Row {
  from: number;
  to: number;
  tightest: WatchSample;
}

// rows sums a night up in stretches, each with its sample of the least room.
export function rows(night: NightRecord, course: Course, many = 48): Row[] {
  const [from, to] = [Date.parse(night.from), Date.parse(night.to)];
  const minutes = Math.max(1, Math.ceil((to - from) / 60000 / many));
  const out: Row[] = [];
  course.samples.forEach((s, i) => {
    const at = course.at[i] ?? 0;
    const start = from + Math.floor((at - from) / (minutes * 60000)) * minutes * 60000;
    const last = out.at(-1);
    if (last?.from !== start) out.push({ from: start, to: Math.min(to, start + minutes * 60000), tightest: s });
    else if ((s.gap_lower_mm ?? -Infinity) < (last.tightest.gap_lower_mm ?? -Infinity)) last.tightest = s;
  });
  return out;
}
