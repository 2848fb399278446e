import { parseFigure } from "../../ui/figure";
import type { Axes } from "./standing";

// Entry is what stands in the fields of one step, as it was typed.
export interface Entry extends Record<Field, string> {
  first: string; // mm
  second: string; // mm, of the ruler held anew; may be empty
  good: string; // what they are good to, mm; empty: as the sheet says
  at?: Axes; // where the mount said that it stood; left out: where the walk has the step
}

export type Field = "first" | "second" | "good";

export const empty: Entry = { first: "", second: "", good: "" };

const inside = (v: number, from: number, to: number) => v >= from && v <= to;

// right tells whether a field holds nothing or a reading that may be.
export function right(field: Field, s: string): boolean {
  return s.trim() === "" || (field === "good" ? inside(parseFigure(s), 0.1, 100) : inside(parseFigure(s), 0, 5000));
}

// readings gives an entry as the sheet has it, such as "212 ± 1"; nothing while a field is wrong.
export function readings(e: Entry): string[] {
  if (!right("first", e.first) || !right("second", e.second) || !right("good", e.good)) return [];
  const tail = e.good.trim() === "" ? "" : ` ± ${plain(e.good)}`;
  return [e.first, e.second].filter((s) => s.trim() !== "").map((s) => plain(s) + tail);
}

const plain = (s: string) => String(Number(parseFigure(s).toFixed(2)));
