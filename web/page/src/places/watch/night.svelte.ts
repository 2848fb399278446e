import { get, post, superseded, words } from "../../api/client";
import type { Doc, Nearest, NightRecord, NightsDoc, PartDoc, PoseDoc, WatchEvent } from "../../api/shapes";
import { Head, type Angles } from "../../scene/axes";
import { anglesOf, type Shown } from "../../scene/shown.svelte";
import { draft } from "../../state/draft.svelte";
import { tasks } from "../../state/tasks.svelte";
import { Course, told } from "./record";

// Night is one night of the journal on the page, and the moment that is looked at.
class Night implements Shown {
  list = $state.raw<NightsDoc | null>(null);
  trouble = $state(""); // why something did not come
  record = $state.raw<NightRecord | null>(null);
  course = $state.raw(new Course([]));
  events = $state.raw<WatchEvent[]>([]);
  ms = $state(0);
  playing = $state(false);
  speed = $state(60); // times as fast as it was

  head = $state.raw<Head | null>(null);
  #parts = $state.raw<PartDoc[]>([]);
  placed = $state.raw<Angles | null>(null);
  nearest = $state.raw<Nearest[]>([]);
  below = $state.raw<ReadonlySet<string>>(new Set());

  #nearestAt = $state(NaN);
  #asking = false;

  sample = $derived(this.course.sample(this.ms));
  now = $derived.by(() => {
    const a = this.course.axes(this.ms);
    return a ? anglesOf(a.ra, a.dec) : null;
  });

  get rig(): string | null {
    return this.#session ? `night ${this.#session.fingerprint}` : null;
  }

  // Where nothing is known, nothing is drawn.
  get parts(): PartDoc[] {
    return this.now ? this.#parts : [];
  }

  get current(): boolean {
    return Math.abs(this.ms - this.#nearestAt) < 1000 && typeof this.sample?.gap_lower_mm === "number";
  }

  get where(): string {
    const s = this.sample;
    return s ? `on side ${s.side}, hour angle ${s.hour_angle_h.toFixed(2)} h, declination ${s.dec_deg.toFixed(1)}°` : "";
  }

  get problem(): string {
    return this.now ? "" : "The journal has no place of the mount at this moment.";
  }

  get from(): number {
    return Date.parse(this.record?.from ?? "");
  }

  get to(): number {
    return Date.parse(this.record?.to ?? "");
  }

  // #session is the watch that wrote at the moment of now.
  get #session() {
    const all = this.record?.sessions ?? [];
    return all.filter((s) => Date.parse(s.started) <= this.ms + 1000).at(-1) ?? all[0];
  }

  async load() {
    try {
      this.list = await get<NightsDoc>("/watch/nights");
      this.trouble = "";
    } catch (err) {
      this.trouble = words(err);
    }
  }

  async open(evening: string) {
    this.close();
    try {
      const r = await tasks.wait("Reading the night", get<NightRecord>(`/watch/nights/${evening}`));
      this.record = r;
      this.course = new Course(r.samples);
      this.events = told(r.records);
      this.ms = this.course.at[0] ?? Date.parse(r.from);
      this.trouble = "";
    } catch (err) {
      if (!superseded(err)) this.trouble = words(err);
    }
  }

  close() {
    this.record = null;
    this.playing = false;
    this.#parts = [];
    this.nearest = [];
  }

  // rigOf fetches the rig as it was then; from an effect, which runs again when another watch wrote.
  async fetchRig() {
    const s = this.#session;
    if (!s) return;
    const id = draft.id ?? "night";
    try {
      const doc = await post<Doc>("/read", { id, text: s.document });
      if (!doc.head) throw new Error(doc.errors[0]?.problem ?? "the rig of that night cannot be read");
      const p = await post<PoseDoc>("/pose", { id, text: s.document, side: "west", hour_angle_h: 0, dec_deg: 0 });
      if (s !== this.#session) return;
      this.head = new Head(doc.head, doc.crossing_mm);
      this.placed = anglesOf(p.ra_axis_deg, p.dec_axis_deg);
      this.#parts = p.parts;
    } catch (err) {
      this.trouble = `No picture: ${words(err)}`;
    }
  }

  // ask asks for the nearest pairs at the moment of now, one question at a time.
  async ask() {
    const [s, ms, text] = [this.sample, this.ms, this.#session?.document];
    if (this.#asking || this.parts.length === 0 || !s || !text || (s.side !== "west" && s.side !== "east")) return;
    this.#asking = true;
    try {
      const p = await post<PoseDoc>("/pose", { id: draft.id ?? "night", text, side: s.side, hour_angle_h: s.hour_angle_h, dec_deg: s.dec_deg });
      this.nearest = p.nearest;
      this.below = new Set(p.nearest.filter((n) => n.gap_lower_mm < p.margin_mm).flatMap((n) => [n.a, n.b]));
      this.#nearestAt = ms;
    } catch {
      this.nearest = [];
    } finally {
      this.#asking = false;
    }
    if (this.ms !== ms && !this.playing) void this.ask();
  }

  // play moves the moment on while the place is shown.
  play(): () => void {
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
      const timer = setInterval(() => this.#advance(1000 * this.speed), 1000);
      return () => clearInterval(timer);
    }
    let last: number | null = null;
    const next = (t: number) => {
      if (last !== null) this.#advance((t - last) * this.speed);
      last = t;
      frame = requestAnimationFrame(next);
    };
    let frame = requestAnimationFrame(next);
    return () => cancelAnimationFrame(frame);
  }

  #advance(ms: number) {
    this.ms = Math.min(this.ms + ms, this.to);
    if (this.ms >= this.to) this.playing = false;
  }
}

export const night = new Night();
