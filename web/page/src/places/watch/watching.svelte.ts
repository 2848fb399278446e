import { open, Problem, words } from "../../api/client";
import type { WatchDoc, WatchEvent, WatchStep } from "../../api/shapes";
import { server } from "../../state/server.svelte";
import { tasks } from "../../state/tasks.svelte";
import { headline } from "./call";
import { Fresh } from "./fresh";

const oldAfter = 3000; // ms without a step: the loop comes round once a second
const anew = 5000; // ms without a step: the connection may be half open
const tries = 20; // of a stop, half a second apart

export type Stopping = "no" | "sending" | "failing" | "failed";

// Watching is the page's view of the watch that runs in the server, in every place. Nothing of it outlives three seconds of silence.
class Watching {
  doc = $state.raw<WatchDoc | null>(null);
  last = $state.raw<WatchStep | null>(null); // the last step, whatever its age
  lastAt = $state(0); // when it came, by Date.now
  ageMS = $state(Infinity);
  events = $state.raw<WatchEvent[]>([]); // the oldest first
  stopping = $state<Stopping>("no"); // a stop that was pressed here
  waiting = $state(true); // it has not listened for long enough that silence means something

  #fresh = new Fresh();

  constructor() {
    server.after = () => this.events.at(-1)?.id ?? 0;
    server.on<WatchDoc>("watch", (doc) => this.#watch(doc));
    server.on<WatchStep>("step", (step) => this.#step(step));
    server.on<{ events: WatchEvent[] }>("events", ({ events }) => this.#took(events));
  }

  get stale(): boolean {
    return this.ageMS > oldAfter;
  }

  // step is what is known now: nothing when it is old.
  get step(): WatchStep | null {
    return this.stale ? null : this.last;
  }

  // headline is what every place says of it, in words; nothing while there is room or no watch.
  get headline(): string {
    const { step, waiting, stopping } = this;
    return headline({ running: this.doc?.running ?? false, step, waiting, away: server.away, stopping });
  }

  // follow looks how old what is known is, for as long as the page is open.
  follow(): () => void {
    const timer = setInterval(() => this.#look(), 250);
    return () => clearInterval(timer);
  }

  #look() {
    this.ageMS = this.#fresh.age();
    this.waiting = server.listensFor < oldAfter;
    if (this.doc?.running && this.ageMS > anew && server.openFor > anew) server.close();
  }

  #watch(doc: WatchDoc) {
    if (doc.started !== this.doc?.started) {
      this.events = [];
      this.last = null;
      this.#fresh.forget();
    }
    this.doc = doc;
  }

  #step(step: WatchStep) {
    this.last = step;
    this.lastAt = Date.now();
    this.#fresh.heard();
    this.ageMS = 0;
  }

  #took(events: WatchEvent[]) {
    const known = this.events.at(-1)?.id ?? 0;
    const first = events[0]?.id ?? 0;
    // Numbers that begin anew are those of another watch.
    this.events = first <= known ? events : [...this.events, ...events].slice(-500);
  }

  // stop asks nothing, and is sent again until the server has it.
  async stop() {
    if (this.stopping === "sending" || this.stopping === "failing") return;
    this.stopping = "sending";
    server.close(); // its connection is free for the order
    for (let i = 0; i < tries; i++) {
      try {
        await open("POST", "/watch/stop", undefined, AbortSignal.timeout(2000));
        this.stopping = "no";
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
