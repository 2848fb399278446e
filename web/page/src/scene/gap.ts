import type { PoseDoc } from "../api/shapes";
import { showFigure } from "../ui/figure";

// gapWords says a gap: "21 mm", "overlap 24 mm".
export function gapWords(mm: number): string {
  return mm < 0 ? `overlap ${showFigure(-mm)}\u202fmm` : `${showFigure(Math.floor(mm))}\u202fmm`;
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
