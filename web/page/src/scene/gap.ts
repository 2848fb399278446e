import type { Nearest, PoseDoc } from "../api/shapes";
import { showFigure } from "../ui/figure";

// gapWords says a gap by the lengths as they stand: "21 mm", "overlap 24 mm". It proves nothing: provenWords leads wherever room is meant.
export function gapWords(mm: number): string {
  return mm < 0 ? `overlap ${showFigure(-mm)}\u202fmm` : `${showFigure(Math.floor(mm))}\u202fmm`;
}

// provenWords says a lower bound of a gap, never better than it is: "at least 21 mm", "may overlap by 24 mm".
export function provenWords(mm: number): string {
  if (Number.isNaN(mm)) return "not known";
  return mm < 0 ? `may overlap by ${showFigure(Math.ceil(-mm))}\u202fmm` : `at least ${showFigure(Math.floor(mm))}\u202fmm`;
}

// nearestWords says a pair's gap in full, what is proven first.
export function nearestWords(n: Pick<Nearest, "a" | "b" | "gap_mm" | "gap_lower_mm">): string {
  return `${n.a} and ${n.b} are nearest, ${provenWords(n.gap_lower_mm)}, ${gapWords(n.gap_mm)} by the lengths as they stand`;
}

// verdict says in a word whether a pose is free.
export const verdict = (a: Pick<PoseDoc, "free">) => (a.free ? "Free" : "▲ Not free");

// decided says what decides that: the axes' travel, or the pair that does, with what is proven of its gap.
export function decided(a: Pick<PoseDoc, "out_of_travel" | "decides" | "gap_lower_mm">): string {
  if (a.out_of_travel !== null) return "the axes do not reach this pose";
  return `${a.decides.a} – ${a.decides.b}, ${provenWords(a.gap_lower_mm)}`;
}

// below names the parts of an answer's nearest pairs whose gap is not proven to be the margin.
export function below(a: PoseDoc | null): Set<string> {
  const out = new Set<string>();
  for (const n of a?.nearest ?? []) {
    if (n.gap_lower_mm < (a?.margin_mm ?? 0)) {
      out.add(n.a);
      out.add(n.b);
    }
  }
  return out;
}

export const tubeIs = { west: "west of the mount", east: "east of the mount", above: "above the polar axis", below: "below the polar axis" };
