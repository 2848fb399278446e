/** The numbers and words of a rig document by path, such as `support.legs.foot_radius_mm`; values of template and default too. */
export interface Figures {
  number(path: string): number | undefined;
  word(path: string): string | undefined;
  /** How many entries a list has, such as `tube.sections`. */
  entries(list: string): number;
}

export interface Entry {
  readonly path: string;
  readonly value: number | string | boolean;
}

/** Reads figures from a flat list of entries, as the server's answer holds them. */
export function figuresOf(entries: Iterable<Entry>): Figures {
  const values = new Map<string, Entry["value"]>();
  const lengths = new Map<string, number>();
  for (const e of entries) {
    values.set(e.path, e.value);
    for (const m of e.path.matchAll(/\[(\d+)\]/g)) {
      const list = e.path.slice(0, m.index);
      lengths.set(list, Math.max(lengths.get(list) ?? 0, Number(m[1]) + 1));
    }
  }
  return {
    number: (path) => {
      const v = values.get(path);
      return typeof v === "number" ? v : undefined;
    },
    word: (path) => {
      const v = values.get(path);
      return v === undefined ? undefined : String(v);
    },
    entries: (list) => lengths.get(list) ?? 0,
  };
}
