const again = 1000; // ms between tries

// Server is the page's one stream of what the server tells by itself. A browser has six connections to a server for all its tabs: each
// tab holds one of them, and one that nobody sees or hears gives it back, and hears on its return what it missed.
class Server {
  gone = $state(false); // it does not answer
  away = $state(false); // the page lets go of its stream
  quiet = true; // it may do so in the background
  after = () => 0; // the last event of the watch that is known

  #heard = new Map<string, (data: never) => void>();
  #source: EventSource | null = null;
  #opened = 0; // when, by performance.now
  #since = 0; // when it began to listen, by performance.now

  // on has events of a kind heard.
  on<T>(kind: string, hear: (data: T) => void) {
    this.#heard.set(kind, hear);
  }

  // openFor and listensFor are how long the stream is open, and how long the page has listened at all, ms.
  get openFor(): number {
    return this.#source ? performance.now() - this.#opened : 0;
  }

  get listensFor(): number {
    return this.away ? 0 : performance.now() - this.#since;
  }

  // follow listens for as long as the page is open.
  follow(): () => void {
    const shown = () => {
      const away = document.hidden && this.quiet;
      if (!away && (this.away || this.#since === 0)) this.#since = performance.now();
      this.away = away;
      if (away) this.close();
      else this.#open();
    };
    shown();
    const timer = setInterval(() => performance.now() - this.#opened > again && this.#open(), again / 4);
    document.addEventListener("visibilitychange", shown);
    return () => {
      clearInterval(timer);
      document.removeEventListener("visibilitychange", shown);
      this.close();
    };
  }

  // close ends the stream, which frees its connection. A page that still listens opens another a second later.
  close() {
    this.#opened = performance.now();
    this.#source?.close();
    this.#source = null;
  }

  #open() {
    if (this.#source || this.away) return;
    this.#opened = performance.now();
    const s = (this.#source = new EventSource(`/api/events?after=${String(this.after())}`));
    for (const [kind, hear] of this.#heard) s.addEventListener(kind, (e) => hear(JSON.parse(e.data as string) as never));
    s.onopen = () => (this.gone = false);
    s.onerror = () => {
      this.gone = true;
      this.close();
    };
  }
}

export const server = new Server();
