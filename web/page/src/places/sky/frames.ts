import { open } from "../../api/client";
import type { FrameHead, Side } from "../../api/shapes";

// A Frame is one picture of the map on its way from the server: its head, and its planes by side and name.
export interface Frame {
  head: FrameHead;
  planes: Map<string, Uint8Array | Int16Array | Uint16Array>;
}

export function planeOf(f: Frame, side: Side, name: string) {
  return f.planes.get(side + " " + name);
}

const width = { uint8: 1, int16: 2, uint16: 2 } as const;

// frames asks for a map and gives its frames as they come. A frame is four bytes with the length of its head, the least first; the
// head in JSON; the planes one after the other.
export async function* frames(body: unknown, signal: AbortSignal): AsyncGenerator<Frame> {
  const answer = await open("POST", "/map", body, signal);
  if (!answer.body) return;
  const bytes = new Portions(answer.body.getReader());
  for (;;) {
    const length = await bytes.take(4);
    const text = length && (await bytes.take(new DataView(length.buffer).getUint32(0, true)));
    if (!text) return;
    const head = JSON.parse(new TextDecoder().decode(text)) as FrameHead;
    const planes: Frame["planes"] = new Map();
    for (const p of head.planes) {
      const own = await bytes.take((head.rows ?? 0) * (head.columns ?? 0) * width[p.type]);
      if (!own) return;
      planes.set(p.side + " " + p.name, p.type === "uint8" ? own : p.type === "int16" ? new Int16Array(own.buffer) : new Uint16Array(own.buffer));
    }
    yield { head, planes };
  }
}

// Portions gives what comes in the portions that are asked for.
class Portions {
  #left = new Uint8Array(0);

  constructor(readonly reader: ReadableStreamDefaultReader<Uint8Array<ArrayBuffer>>) {}

  // take waits for so many bytes, and gives them in a buffer of their own; null when the stream ends before.
  async take(length: number): Promise<Uint8Array<ArrayBuffer> | null> {
    const out = new Uint8Array(length);
    for (let at = 0; at < length; ) {
      if (this.#left.length === 0) {
        const { done, value } = await this.reader.read();
        if (done) return null;
        this.#left = value;
      }
      const part = this.#left.subarray(0, length - at);
      out.set(part, at);
      at += part.length;
      this.#left = this.#left.subarray(part.length);
    }
    return out;
  }
}
