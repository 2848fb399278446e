// At is the moment of the night that the page looks at, milliseconds since 1970, and the target that it points out.
class At {
  ms = $state<number | null>(null);
  target = $state<string | null>(null);
  until = $state<number | null>(null); // the night runs on until then

  // play runs along from a moment to another.
  play(from: number, to: number) {
    this.ms = from;
    this.until = to;
  }
}

export const at = new At();
