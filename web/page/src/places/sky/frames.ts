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

// frames asks for a map and gives its frames as they come.
export async function* frames(body: unknown, signal: AbortSignal): AsyncGenerator<Frame> {
  const answer = await open("POST", "/map", body, signal);
  const reader = answer.body?.getReader();
  if (!reader) return;
  let held = new Uint8Array(1 << 16); // what has come and was not yet taken lies in it from front to end
  let front = 0;
  let end = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    if (end + value.length > held.length) {
      const larger = new Uint8Array(2 * (end - front + value.length));
      larger.set(held.subarray(front, end));
      held = larger;
      end -= front;
      front = 0;
    }
    held.set(value, end);
    end += value.length;
    for (let cut = take(held.subarray(front, end)); cut; cut = take(held.subarray(front, end))) {
      front += cut.length;
      yield cut.frame;
    }
  }
}

// take reads a frame from the front of what has come; null while it is not whole. A frame is four bytes with the length of its
// head, the least first; the head in JSON; the planes one after the other.
function take(bytes: Uint8Array): { frame: Frame; length: number } | null {
  if (bytes.length < 4) return null;
  const n = new DataView(bytes.buffer, bytes.byteOffset).getUint32(0, true);
  if (bytes.length < 4 + n) return null;
  const head = JSON.parse(new TextDecoder().decode(bytes.subarray(4, 4 + n))) as FrameHead;
  const fields = (head.rows ?? 0) * (head.columns ?? 0);
  let at = 4 + n;
  if (bytes.length < head.planes.reduce((sum, p) => sum + fields * width[p.type], at)) return null;
  const planes: Frame["planes"] = new Map();
  for (const p of head.planes) {
    const size = fields * width[p.type];
    const own = bytes.slice(at, at + size).buffer; // aligned, whatever the length of the head
    const view = p.type === "uint8" ? new Uint8Array(own) : p.type === "int16" ? new Int16Array(own) : new Uint16Array(own);
    planes.set(p.side + " " + p.name, view);
    at += size;
  }
  return { frame: { head, planes }, length: at };
}
