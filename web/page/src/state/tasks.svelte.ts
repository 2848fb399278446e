export interface Task {
  id: number;
  label: string;
  share: number | null; // done, 0 to 1; null while nobody knows
  shown: boolean;
}

const patience = 500; // ms before a task shows itself

// Tasks are what the page waits for. One that takes over half a second shows in the bar, with words.
class Tasks {
  list = $state<Task[]>([]);
  said = $state(""); // the last thing worth telling, for the foot of the page and screen readers
  #next = 1;
  #quiet: ReturnType<typeof setTimeout> | undefined;

  get shown(): Task | undefined {
    return this.list.find((t) => t.shown);
  }

  // start opens a task; end it with the function that it returns.
  start(label: string): { end: () => void; share: (x: number) => void } {
    const id = this.#next++;
    this.list.push({ id, label, share: null, shown: false });
    const find = () => this.list.find((t) => t.id === id);
    const timer = setTimeout(() => {
      const t = find();
      if (t) t.shown = true;
    }, patience);
    return {
      end: () => {
        clearTimeout(timer);
        this.list = this.list.filter((t) => t.id !== id);
      },
      share: (x) => {
        const t = find();
        if (t) t.share = x;
      },
    };
  }

  // wait runs a promise as a task.
  async wait<T>(label: string, work: Promise<T>): Promise<T> {
    const task = this.start(label);
    try {
      return await work;
    } finally {
      task.end();
    }
  }

  // say tells something once: "saved".
  say(words: string) {
    this.said = words;
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => (this.said = ""), 6000);
  }
}

export const tasks = new Tasks();
