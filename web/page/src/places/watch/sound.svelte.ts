// Sound is the page's own alarm: off until the owner switches it on, since a browser makes none before. Its tones are two notes that
// a small loudspeaker carries and the ear finds: a warning falls softly, an alarm rises three times, and lost status beats low.
export type Call = "none" | "warning" | "alarm" | "lost";

interface Tone {
  hz: number;
  at: number; // s from the beginning of the call
  for: number; // s
}

const tones: Record<Exclude<Call, "none">, { tones: Tone[]; every: number; loud: number }> = {
  warning: { tones: [{ hz: 880, at: 0, for: 0.25 }, { hz: 660, at: 0.3, for: 0.4 }], every: 8, loud: 0.5 },
  alarm: {
    tones: [0, 0.5, 1].flatMap((at) => [{ hz: 784, at, for: 0.18 }, { hz: 1175, at: at + 0.2, for: 0.24 }]),
    every: 2,
    loud: 1,
  },
  lost: { tones: [0, 0.35, 0.7].map((at) => ({ hz: 392, at, for: 0.25 })), every: 3, loud: 1 },
};

class Sound {
  on = $state(false);
  loud = $state(0.8); // 0 to 1
  problem = $state("");

  #audio: AudioContext | null = null;
  #timer: ReturnType<typeof setInterval> | undefined;
  #call: Call = "none";

  async switch(on: boolean) {
    this.problem = "";
    if (!on) {
      this.on = false;
      this.#silence();
      await this.#audio?.suspend();
      return;
    }
    try {
      this.#audio ??= new AudioContext();
      await this.#audio.resume();
      this.on = true;
      this.#play("warning"); // so that the owner hears that it is heard
      const call = this.#call;
      this.#call = "none";
      this.call(call);
    } catch {
      this.problem = "This browser makes no sound.";
    }
  }

  // call begins to call, or ends it; the same again changes nothing.
  call(c: Call) {
    if (c === this.#call) return;
    this.#silence();
    this.#call = c;
    if (!this.on || c === "none") return;
    this.#play(c);
    this.#timer = setInterval(() => this.#play(c), tones[c].every * 1000);
  }

  try() {
    this.#play("alarm");
  }

  #silence() {
    clearInterval(this.#timer);
  }

  #play(c: Exclude<Call, "none">) {
    const a = this.#audio;
    if (!a || !this.on) return;
    void a.resume();
    for (const t of tones[c].tones) {
      const voice = a.createOscillator();
      const gain = a.createGain();
      voice.type = "triangle";
      voice.frequency.value = t.hz;
      const from = a.currentTime + 0.02 + t.at;
      gain.gain.setValueAtTime(0, from);
      gain.gain.linearRampToValueAtTime(this.loud * tones[c].loud, from + 0.01);
      gain.gain.setValueAtTime(this.loud * tones[c].loud, from + t.for - 0.03);
      gain.gain.linearRampToValueAtTime(0, from + t.for);
      voice.connect(gain).connect(a.destination);
      voice.start(from);
      voice.stop(from + t.for);
    }
  }
}

export const sound = new Sound();
