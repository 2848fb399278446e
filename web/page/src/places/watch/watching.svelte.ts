import { get, open, Problem, words } from "../../api/client";
import type { WatchDoc, WatchEvent, WatchStep } from "../../api/shapes";
import { tasks } from "../../state/tasks.svelte";
import { Fresh } from "./fresh";

const oldAfter = 3000; // ms without a step: the loop comes round once a second
const anew = 5000; // ms without a step: the connection may be half open
const tries = 20; // of a stop, half a second apart

export type Stopping = "no" | "sending" | "failing" | "failed";

// Watching is the page's view of the watch that runs in the server. Nothing of it outlives three seconds of silence.
class Watching {
  doc = $state.raw<WatchDoc | null>(null);
  problem = $state(""); // why not even that came
  last = $state.raw<WatchStep | null>(null); // the last step, whatever its age
  lastAt = $state(0); // when it came, by Date.now
  ageMS = $state(Infinity);
  events = $state.raw<WatchEvent[]>([]); // the oldest first
  stopping = $state<Stopping>("no"); // a stop that was pressed here
  quiet = $state(true); // a page in the background may let go of its stream

  #fresh = new Fresh();
  #stream: EventSource | null = null;
  #opened = 0; // when, by performance.now
  #asking = false;

  get stale(): boolean {
    return this.ageMS > oldAfter;
  }

  // step is what is known now: nothing when it is old.
  get step(): WatchStep | null {
    return this.stale ? null : this.last;
  }

  // follow listens for as long as the place is shown.
  follow(): () => void {
    void this.#connect();
    const timer = setInterval(() => this.#look(), 250);
    const shown = () => {
      // A browser has six connections to a server: a page that nobody sees and nobody hears must not keep one from a stop.
      if (document.hidden && this.quiet) {
        this.#close();
        this.#fresh.forget();
      } else void this.#connect();
      this.#look();
    };
    document.addEventListener("visibilitychange", shown);
    return () => {
      clearInterval(timer);
      document.removeEventListener("visibilitychange", shown);
      this.#close();
      this.#fresh.forget();
      this.ageMS = Infinity;
    };
  }

  #look() {
    this.ageMS = this.#fresh.age();
    if (this.#stream && this.ageMS > anew && performance.now() - this.#opened > anew) this.#close();
    if (!this.#stream && !(document.hidden && this.quiet) && performance.now() - this.#opened > 1000) void this.#connect();
  }

  async #connect() {
    if (this.#stream || this.#asking) return;
    this.#asking = true;
    this.#opened = performance.now();
    try {
      const doc = await get<WatchDoc>("/watch", AbortSignal.timeout(anew));
      if (doc.started !== this.doc?.started) {
        this.events = [];
        this.last = null;
      }
      this.doc = doc;
      this.problem = "";
      if (doc.running) this.#listen();
    } catch (err) {
      this.problem = words(err);
    } finally {
      this.#asking = false;
    }
  }

  #listen() {
    const s = (this.#stream = new EventSource(`/api/watch/stream?after=${String(this.events.at(-1)?.id ?? 0)}`));
    this.#opened = performance.now();
    s.addEventListener("step", (e) => {
      this.last = JSON.parse(e.data as string) as WatchStep;
      this.lastAt = Date.now();
      this.#fresh.heard();
      this.ageMS = 0;
    });
    s.addEventListener("events", (e) => {
      const { events } = JSON.parse(e.data as string) as { events: WatchEvent[] };
      const known = this.events.at(-1)?.id ?? 0;
      const first = events[0]?.id ?? 0;
      // Numbers that begin anew are those of another watch.
      this.events = first <= known ? events : [...this.events, ...events].slice(-500);
    });
    s.onerror = () => this.#close();
  }

  #close() {
    this.#stream?.close();
    this.#stream = null;
  }

  // stop asks nothing, and is sent again until the server has it.
  async stop() {
    if (this.stopping === "sending" || this.stopping === "failing") return;
    this.stopping = "sending";
    this.#close(); // its connection is free for the order
    for (let i = 0; i < tries; i++) {
      try {
        await open("POST", "/watch/stop", undefined, AbortSignal.timeout(2000));
        this.stopping = "no";
        void this.#connect();
        return;
      } catch (err) {
        if (err instanceof Problem && err.status === 409) break; // no watch runs
        this.stopping = "failing";
        await new Promise((done) => setTimeout(done, 500));
      }
    }
    this.stopping = "failed";
  }

  // order passes any other word of the owner on, and tells what the watch says to it.
  async order(name: "release" | "park" | "acknowledge" | "snooze" | "confirm", body?: object, done = "") {
    try {
      const sent = open("POST", `/watch/${name}`, body);
      await (name === "park" ? tasks.wait("Proving the way to park", sent) : sent);
      if (done) tasks.say(done);
    } catch (err) {
      tasks.say(`▲ ${words(err)}`);
    }
  }
}

export const watching = new Watching();
