// Questions whose answer takes its time: the server tells how far it is, by server-sent events, and then comes the answer.
import { open, Problem } from "./client";

// Lines puts what comes in pieces together to events.
export class Lines {
  #rest = "";
  #event = "";

  // add gives the events that are whole with a further piece.
  add(piece: string): { event: string; data: string }[] {
    const lines = (this.#rest + piece).split("\n");
    this.#rest = lines.pop() ?? "";
    const out: { event: string; data: string }[] = [];
    for (const l of lines) {
      if (l.startsWith("event: ")) this.#event = l.slice(7).trim();
      else if (l.startsWith("data: ")) out.push({ event: this.#event, data: l.slice(6) });
    }
    return out;
  }
}

// worked asks, tells how far the answer is, 0 to 1, and gives it, or throws a Problem.
export async function worked<T>(path: string, body: unknown, signal: AbortSignal, progress: (done: number) => void): Promise<T> {
  const reader = (await open("POST", path, body, signal)).body?.pipeThrough(new TextDecoderStream()).getReader();
  const lines = new Lines();
  for (;;) {
    const piece = await reader?.read();
    if (!piece || piece.done) throw new Problem("The answer ended before it was whole: is Legroom's server still running?", 0);
    for (const { event, data } of lines.add(piece.value)) {
      const said = JSON.parse(data) as unknown;
      if (event === "progress") progress((said as { done: number }).done);
      if (event === "answer") return said as T;
      if (event === "problem") {
        const p = said as { detail?: string; status?: number };
        throw new Problem(p.detail ?? "The server gave no answer.", p.status ?? 0, said);
      }
    }
  }
}
