// A small client of the server's API. Its answers' types come from types.ts.

// Problem is an answer that is an error: RFC 9457 problem details, or what stood in the way of an answer.
export class Problem extends Error {
  constructor(
    message: string,
    readonly status: number, // 0: no answer at all
    readonly body: unknown = null,
  ) {
    super(message);
    this.name = "Problem";
  }
}

// superseded tells whether an error only says that its caller gave up.
export function superseded(err: unknown): boolean {
  return err instanceof DOMException && err.name === "AbortError";
}

export function words(err: unknown): string {
  return err instanceof Error ? err.message : String(err);
}

interface ProblemBody {
  title?: string;
  detail?: string;
  errors?: { message?: string; location?: string }[];
}

function sentence(body: ProblemBody, status: number): string {
  const parts = [body.detail ?? body.title ?? `the server answered ${String(status)}`];
  for (const e of body.errors ?? []) {
    if (e.message) parts.push(e.location ? `${e.location}: ${e.message}` : e.message);
  }
  return parts.join("; ");
}

// open sends a request and returns its answer, or throws a Problem.
export async function open(method: string, path: string, body?: unknown, signal?: AbortSignal): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch("/api" + path, {
      method,
      signal: signal ?? null,
      headers: body === undefined ? {} : { "content-type": "application/json" },
      body: body === undefined ? null : JSON.stringify(body),
    });
  } catch (err) {
    if (superseded(err)) throw err;
    throw new Problem("No answer from Legroom's server: is it still running?", 0);
  }
  if (answer.ok) return answer;
  const said: unknown = await answer.json().catch(() => null);
  throw new Problem(sentence((said ?? {}) as ProblemBody, answer.status), answer.status, said);
}

export async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await (await open("GET", path, undefined, signal)).json()) as T;
}

export async function post<T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  return (await (await open("POST", path, body, signal)).json()) as T;
}

export async function put<T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  return (await (await open("PUT", path, body, signal)).json()) as T;
}

// save hands a file of the server to the owner: the bytes that the command line writes.
export async function save(path: string, body: unknown, name: string): Promise<void> {
  const blob = await (await open("POST", path, body)).blob();
  const url = URL.createObjectURL(blob);
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}
