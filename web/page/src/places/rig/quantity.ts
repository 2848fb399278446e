import type { Quantity } from "../../api/shapes";
import { parseFigure, showFigure } from "../../ui/figure";

export const unitSign = { mm: "mm", deg: "°", kg: "kg" } as const;
export const unitName = { mm: "millimetres", deg: "degrees", kg: "kilograms" } as const;

// plain writes a number with as many decimals as it has, three at most.
export function plain(v: number): string {
  return showFigure(v, Math.max(0, (String(Math.round(v * 1000) / 1000).split(".")[1] ?? "").length));
}

// written gives a quantity as its field shows it: 460 ± 5.
export function written(q: Pick<Quantity, "value" | "tolerance">): string {
  return q.tolerance > 0 ? `${plain(q.value)} ± ${plain(q.tolerance)}` : plain(q.value);
}

// withUnit gives it as a drawing shows it: 460 ± 5 mm, 12.5 ± 1°.
export function withUnit(q: Pick<Quantity, "value" | "tolerance" | "unit">): string {
  return written(q) + (q.unit === "deg" ? "°" : `\u202f${unitSign[q.unit]}`);
}

export interface Typed {
  value: number;
  tolerance: number | null; // null: none typed, the document's usual one holds
}

const number = String.raw`([+\-\u2212]?\d+(?:[.,]\d+)?)`;
const form = new RegExp(`^${number}(?:\\s*(?:±|\\+-|\\+/-)\\s*${number})?\\s*(?:mm|cm|°|deg|kg)?$`);

// parse reads what was typed into a field: 460, 460 ± 5, 460+-5, with a comma or a point; undefined when it is neither.
export function parse(text: string): Typed | undefined {
  const m = form.exec(text.trim());
  if (!m || /cm$/.test(text.trim())) return undefined;
  const tolerance = m[2] === undefined ? null : parseFigure(m[2]);
  return { value: parseFigure(m[1] ?? ""), tolerance };
}

// wrong says what does not fit, as the page's own first look; the server has the last word.
export function wrong(text: string, q: Pick<Quantity, "unit" | "min" | "max" | "above">): string {
  const typed = parse(text);
  const example = q.unit === "kg" ? "1.2" : q.unit === "deg" ? "12 ± 1" : "460 ± 5";
  if (!typed) return `▲ “${text.trim()}” is no ${q.unit === "deg" ? "angle" : q.unit === "kg" ? "mass" : "length"}: write ${example}`;
  if (typed.tolerance !== null && typed.tolerance < 0) return "▲ A tolerance is not negative";
  if (q.min !== undefined && (q.above ? typed.value <= q.min : typed.value < q.min)) return `▲ It is ${q.above ? "above" : "at least"} ${plain(q.min)}`;
  if (q.max !== undefined && typed.value > q.max) return `▲ It is at most ${plain(q.max)}`;
  return "";
}

// forDocument writes a quantity as a document holds it; a value that was only tried keeps the mark of what no tape measured.
export function forDocument(value: number, tolerance: number | null, source: Quantity["source"] = "measured"): string {
  const n = (v: number) => String(Math.round(v * 1000) / 1000);
  return n(value) + (tolerance === null ? "" : ` ± ${n(tolerance)}`) + (source === "unmeasured" || source === "fitted" ? ` ${source}` : "");
}

// counts says where a group's quantities come from: 3 measured, ○ 2 unmeasured, 4 left to the program.
export function counts(all: Pick<Quantity, "source">[]): string {
  const n = (source: Quantity["source"]) => all.filter((q) => q.source === source).length;
  const said = [`${String(n("measured"))} measured`];
  if (n("fitted") > 0) said.push(`◐ ${String(n("fitted"))} fitted`);
  if (n("unmeasured") > 0) said.push(`○ ${String(n("unmeasured"))} unmeasured`);
  if (n("default") > 0) said.push(`${String(n("default"))} left to the program`);
  return said.join(", ");
}

// unmeasuredWords tells lengths and angles, on which gaps depend, from masses: 61 lengths and 10 masses unmeasured; "" for none.
export function unmeasuredWords(all: Pick<Quantity, "source" | "unit">[]): string {
  const open = all.filter((q) => q.source === "unmeasured");
  const masses = open.filter((q) => q.unit === "kg").length;
  const of = (n: number, one: string, more: string) => (n > 0 ? [`${String(n)} ${n === 1 ? one : more}`] : []);
  const said = [...of(open.length - masses, "length", "lengths"), ...of(masses, "mass", "masses")];
  return said.length > 0 ? `${said.join(" and ")} unmeasured` : "";
}

// step is how far an arrow key goes.
export function step(unit: Quantity["unit"], coarse: boolean): number {
  return { mm: 1, deg: 0.5, kg: 0.1 }[unit] * (coarse ? 10 : 1);
}

// stepWords says it: 1 millimetre, 0.5 degrees.
export function stepWords(unit: Quantity["unit"]): string {
  const by = step(unit, false);
  return `${plain(by)} ${by === 1 ? unitName[unit].replace(/s$/, "") : unitName[unit]}`;
}

// bounded keeps a value within what the document allows.
export function bounded(v: number, q: Pick<Quantity, "min" | "max" | "above" | "unit">): number {
  const low = q.min === undefined ? -Infinity : q.above ? q.min + step(q.unit, false) : q.min;
  return Math.min(q.max ?? Infinity, Math.max(low, Math.round(v * 1000) / 1000));
}

// around gives a slider's ends about a value: a third to both sides, and at least a hand's breadth.
export function around(q: Pick<Quantity, "value" | "unit" | "min" | "max" | "above">): readonly [number, number] {
  const reach = { mm: Math.max(60, Math.abs(q.value) / 3), deg: 60, kg: Math.max(2, Math.abs(q.value) / 2) }[q.unit];
  return [bounded(Math.round(q.value - reach), q), bounded(Math.round(q.value + reach), q)];
}
