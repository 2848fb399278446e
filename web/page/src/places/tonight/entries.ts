import type { Change, Target } from "../../api/shapes";

// A list of targets is YAML text that its owner may write by hand; these make the pieces that go into it.

export interface Entry {
  name: string;
  ra?: string; // J2000, any form that a list takes
  dec?: string;
}

const plain = /^\p{L}[\p{L}\p{N} ._+-]*$/u;
const words = /^(null|true|false|yes|no|on|off)$/i;

// scalar writes a text as one YAML value.
export function scalar(s: string): string {
  const t = s.trim();
  return plain.test(t) && !words.test(t) ? t : JSON.stringify(t);
}

// value writes an entry as a mapping in brackets.
export function value(e: Entry): string {
  const place = e.ra === undefined || e.dec === undefined ? "" : `, ra: ${scalar(e.ra)}, dec: ${scalar(e.dec.replace("\u2212", "-"))}`;
  return `{name: ${scalar(e.name)}${place}}`;
}

const empty = /^[ \t]*(targets:)?[ \t]*(\[\s*\])?[ \t]*$/;

// begun gives a text that has no entry yet its first one, below the comments that it has.
export function begun(text: string, entry: string): string {
  const comments = text.split("\n").filter((l) => l.trim() !== "" && !empty.test(l));
  return [...comments, "targets:", `  - ${entry}`, ""].join("\n");
}

export type Figure = "priority" | "sub_s" | "wanted_h" | "extent_deg";

export interface Column {
  key: Figure;
  label: string;
  unit: string;
  min: number;
  max: number;
  of: (t: Target) => number; // 0: not written
}

// The ranges are the server's.
export const columns: readonly Column[] = [
  { key: "priority", label: "Priority", unit: "", min: 1, max: 100, of: (t) => t.priority },
  { key: "sub_s", label: "Sub", unit: "s", min: 0.001, max: 7200, of: (t) => t.sub_s },
  { key: "wanted_h", label: "Wanted", unit: "h", min: 0.001, max: 1000, of: (t) => t.wanted_s / 3600 },
  { key: "extent_deg", label: "Extent", unit: "°", min: 0, max: 20, of: (t) => t.extent_deg },
];

// change writes one figure of an entry, or takes it away.
export function change(i: number, key: Figure, v: number | null): Change {
  const path = `targets[${String(i)}].${key}`;
  return v === null ? { op: "delete", path } : { op: "set", path, value: String(v) };
}

// whole writes an entry that is a name alone as a mapping with one figure in it.
export function whole(i: number, t: Target, key: Figure, v: number): Change {
  return { op: "set", path: `targets[${String(i)}]`, value: `{name: ${scalar(t.name)}, ${key}: ${String(v)}}` };
}
