import type { Fit, FittedLength, Quantity, WalkStep } from "../../api/shapes";
import { hourAngle, showFigure } from "../../ui/figure";

const thin = "\u202f";

// poseWords says where to drive to.
export function poseWords(s: { side: string; hour_angle_h: number; dec_deg: number }): string {
  return `side ${s.side}, hour angle ${s.hour_angle_h > 0 ? "+" : ""}${hourAngle(s.hour_angle_h, 3)}, declination ${showFigure(s.dec_deg, 1)}°`;
}

export function axisWords(a: { ra_axis_deg: number; dec_axis_deg: number }, digits = 1): string {
  return `RA axis ${showFigure(a.ra_axis_deg, digits)}°, declination axis ${showFigure(a.dec_axis_deg, digits)}°`;
}

// predicted writes a gap with its error, rounded up.
export function predicted(s: Pick<WalkStep, "gap_mm" | "error_mm">): string {
  return `${showFigure(s.gap_mm)} ± ${showFigure(Math.ceil(s.error_mm))}${thin}mm`;
}

// judged says at once how readings stand to what was predicted; the fit says more.
export function judged(mm: number[], gap: number, error: number): string {
  const d = mm.reduce((a, b) => a + b, 0) / mm.length - gap;
  if (Math.abs(d) < 0.5) return "as predicted";
  const words = `${showFigure(Math.abs(d))}${thin}mm ${d > 0 ? "more" : "less"} than predicted`;
  return Math.abs(d) <= Math.max(error, 0.5) ? `${words}: within its ±` : `▲ ${words}: more than its ±. Write it as it is`;
}

export function chance(c: number): string {
  return c < 0.001 ? `less than 0.1${thin}%` : `${showFigure(100 * c, c > 0.99 || c < 0.1 ? 1 : 0)}${thin}%`;
}

const list = (steps: number[]) => steps.map(String).join(", ").replace(/, (\d+)$/, " or $1");

// verdict says what the ruler makes of the model.
export function verdict(f: Fit["fit"]): { title: string; text: string; no: boolean } {
  const wrong = f.readings.find((r) => r.wrong);
  const suspects = [...new Set(f.readings.filter((r) => r.suspect).map((r) => r.step))];
  if (f.verdict === "agrees") {
    return { no: false, title: "The model agrees with the ruler", text: "Lengths within their tolerances explain every reading." };
  }
  if (f.verdict === "one wrong" && wrong) {
    const or = suspects.length > 0 ? ` It may as well be that of step ${list(suspects)}.` : "";
    if (f.open !== null) {
      const mm = (v: number) => `${showFigure(v, 1)}${thin}mm`;
      return {
        no: true,
        title: `Step ${String(wrong.step)} is open: measure it again`,
        text: `From ${wrong.from} to ${wrong.to} the ruler found ${mm(wrong.reading_mm)}: less room than the model gives there, which is ${mm(wrong.predicted_mm)} by the document and ${mm(wrong.fitted_mm)} by the other readings.${or} Nothing is corrected without it: hold the ruler anew and enter that at step ${String(wrong.step)} too. If it stays less, a part there is not as the document has it: go no further.`,
      };
    }
    return {
      no: true,
      title: `The reading of step ${String(wrong.step)} does not go with the others`,
      text: `It is left out, and the model agrees with the rest.${or} ${
        f.readings.slice(f.readings.indexOf(wrong) + 1).some((r) => r.step === wrong.step)
          ? "A later reading of its step goes with the others."
          : "Measure it again; if it stays as it is, a part there is not as the document has it."
      }`,
    };
  }
  if (f.readings.length === 1) {
    return {
      no: true,
      title: "Reading and model do not go together",
      text: "No lengths within their tolerances explain this reading, and one alone cannot tell which of the two is wrong. Measure it again; if it stays as it is, the next step tells. Until then nothing is corrected, and the limits are not to be trusted.",
    };
  }
  return {
    no: true,
    title: "The ruler contradicts the model",
    text: "No lengths within their tolerances explain these readings, so nothing is corrected. A part is missing in the document, has another shape, or is bolted elsewhere: look at the readings that are furthest off.",
  };
}

// again names the field for what the ruler says when it is held anew at a step.
export const again = (step: number): string => `proof-again-${String(step)}`;

// named says what a path of the document measures.
export function named(path: string, all: readonly Quantity[]): string {
  const q = all.find((x) => x.path === path);
  return q ? `${q.of} ${q.label}`.trim() : path;
}

export const unitOf = { mm: thin + "mm", deg: "°" };

export function lengthWords(v: number, error: number, unit: "mm" | "deg"): string {
  const digits = unit === "deg" ? 2 : 1;
  return `${showFigure(v, digits)} ± ${showFigure(error, digits)}${unitOf[unit]}`;
}

export const toldWords: Record<FittedLength["told"], string> = {
  told: "told: at most half of its tolerance is left",
  partly: "told in part",
  untold: "not told: measure it by tape",
};
