// One line of a comparison: in both texts, only in the first, or only in the second.
export interface DiffLine {
  kind: "same" | "first" | "second";
  text: string;
}

// diff compares two texts line by line: the longest common subsequence, after what both begin and end with is put aside.
export function diff(first: string, second: string): DiffLine[] {
  const a = first.split("\n");
  const b = second.split("\n");
  let head = 0;
  while (head < a.length && head < b.length && a[head] === b[head]) head++;
  let tail = 0;
  while (tail < a.length - head && tail < b.length - head && a[a.length - 1 - tail] === b[b.length - 1 - tail]) tail++;
  const x = a.slice(head, a.length - tail);
  const y = b.slice(head, b.length - tail);

  // common[i][j]: how many lines x from i and y from j have in common.
  const common = Array.from({ length: x.length + 1 }, () => new Uint32Array(y.length + 1));
  const at = (i: number, j: number) => common[i]?.[j] ?? 0;
  for (let i = x.length - 1; i >= 0; i--) {
    for (let j = y.length - 1; j >= 0; j--) {
      const row = common[i];
      if (row) row[j] = x[i] === y[j] ? at(i + 1, j + 1) + 1 : Math.max(at(i + 1, j), at(i, j + 1));
    }
  }
  const lines = (kind: DiffLine["kind"], list: string[]) => list.map((text) => ({ kind, text }));
  const out = lines("same", a.slice(0, head));
  let i = 0;
  let j = 0;
  while (i < x.length || j < y.length) {
    if (i < x.length && j < y.length && x[i] === y[j]) {
      out.push({ kind: "same", text: x[i] ?? "" });
      i++;
      j++;
    } else if (i < x.length && (j >= y.length || at(i + 1, j) >= at(i, j + 1))) {
      out.push({ kind: "first", text: x[i++] ?? "" });
    } else {
      out.push({ kind: "second", text: y[j++] ?? "" });
    }
  }
  return [...out, ...lines("same", a.slice(a.length - tail))];
}

// hunks keeps the changed lines of a comparison with a few around them; null stands for lines left out.
export function hunks(lines: readonly DiffLine[], around = 2): (DiffLine | null)[] {
  const near = lines.map((_, i) => lines.slice(Math.max(0, i - around), i + around + 1).some((l) => l.kind !== "same"));
  const out: (DiffLine | null)[] = [];
  lines.forEach((l, i) => {
    if (near[i]) out.push(l);
    else if (i === 0 || near[i - 1]) out.push(null);
  });
  return out;
}
