import type { VariantDoc } from "../../api/shapes";
import { atMost, plain, showFigure } from "../../ui/figure";

// Row is one measure by which rigs are compared.
export interface Row {
  key: string; // of the document's list of differences
  label: string;
  by?: (pushN: number) => string; // what the figure is for, behind the label
  of: (v: VariantDoc) => string;
  lacks?: (v: VariantDoc) => string[]; // what has no mass in the document, so that the figure leaves it out
  unproven?: (v: VariantDoc) => string[]; // targets for which the figure is not proven
}

const thin = "\u202f";
const none = "not known";
const mm = (x: number | null | undefined) => (typeof x === "number" ? `${showFigure(x)}${thin}mm` : none);
// Room, gaps, slack and what tips the rig are rounded down, time that is lost, bending and reach up: never better than it is.
const floor = (x: number, digits: number) => showFigure(Math.floor(x * 10 ** digits + 1e-9) / 10 ** digits, digits);
const ceil = (x: number) => `${showFigure(Math.ceil(x - 1e-9))}${thin}min`;

// Targets whose change of sides is not proven: that they have no idle time is not proven either.
const flips = (v: VariantDoc) => v.targets.filter((t) => t.flip_unproven).map((t) => t.name);
// What stands still over the feet and has no mass leaves a figure that is on the safe side; without the mass of what turns there is none.
const tipping = (v: VariantDoc) => [...new Set([...v.tipping_missing, ...(v.tipping ? [] : v.balance_missing)])];
const turning = (v: VariantDoc) => v.balance_missing;

export const rows: Row[] = [
  { key: "room_percent", label: "Room, on either side", of: (v) => `${floor(v.room_percent.either, 1)}${thin}%` },
  { key: "room_percent", label: "Room on side west, on side east", of: (v) => `${floor(v.room_percent.west, 1)}, ${floor(v.room_percent.east, 1)}${thin}%` },
  { key: "idle_min", label: "Idle, all targets", of: (v) => ceil(v.idle_sum_min), unproven: flips },
  { key: "lost_min", label: "Lost, all targets", of: (v) => (v.lost_sum_min === null ? "not asked for" : ceil(v.lost_sum_min)) },
  { key: "no_way_min", label: "Of that without a proven way from park", of: (v) => (v.no_way_sum_min === null ? "not counted" : ceil(v.no_way_sum_min)) },
  {
    key: "worst_gap_mm",
    label: "Worst gap, without limits",
    of: (v) => (v.worst_gap_mm === null ? none : `${floor(v.worst_gap_mm, 0)}${thin}mm${v.worst ? `, ${v.worst.a} – ${v.worst.b}` : ""}`),
  },
  {
    key: "tipping",
    label: "Tips over by a push of",
    of: (v) => (v.tipping?.anchored ? "held down" : v.tipping ? `${floor(v.tipping.push_n, 0)}${thin}N` : (v.tipping_unknown ?? none)),
    lacks: tipping,
  },
  {
    key: "tipping",
    label: "Tips over in a wind of",
    of: (v) => (v.tipping?.anchored ? "held down" : v.tipping ? `${floor(v.tipping.wind_m_per_s, 0)}${thin}m/s` : (v.tipping_unknown ?? none)),
    lacks: tipping,
  },
  {
    key: "bending",
    label: "Bends by a push",
    by: (pushN) => ` of ${plain(pushN, 1)}${thin}N at the height where the axes cross`,
    of: (v) =>
      v.bending.length === 0
        ? (v.bending_unknown ?? "nothing to bend")
        : v.bending.map((b) => `${b.name}: ${b.push_arcsec === null ? (b.unknown ? `not known without ${b.unknown}` : none) : `${atMost(b.push_arcsec, 1)}″`}`).join("; "),
  },
  {
    key: "bending",
    label: "First frequency",
    of: (v) => v.bending.map((b) => `${b.name}: ${b.frequency_hz === null ? none : `${floor(b.frequency_hz, 1)}${thin}Hz`}`).join("; ") || "nothing to bend",
    lacks: (v) => v.bending.flatMap((b) => b.missing),
  },
  {
    key: "counterweights",
    label: "Counterweights go to",
    of: (v) =>
      v.counterweights.length === 0
        ? none
        : v.counterweights.map((w) => `${w.name}: ${mm(w.at_mm)} (now ${showFigure(w.now_mm)})`).join("; ") + (v.counterweights_fit ? "" : "; ▲ not on the bar"),
    lacks: turning,
  },
  { key: "slide", label: "Tube slides into balance by", of: (v) => mm(v.balance_slide_mm), lacks: turning },
  {
    key: "cables",
    label: "Cables: slack",
    of: (v) =>
      v.cables_unknown ??
      (v.cables.map((c) => `${c.name}: ${c.slack_mm === null ? `reach ${atMost(c.reach_mm)}${thin}mm` : c.slack_mm < 0 ? `▲ ${atMost(-c.slack_mm)}${thin}mm too short` : `${floor(c.slack_mm, 0)}${thin}mm`}`).join("; ") ||
        "no cables in the document"),
  },
];

// labelOf names a measure in full; pushN is the push that bending is for.
export const labelOf = (r: Row, pushN: number) => r.label + (r.by?.(pushN) ?? "");

// differs tells whether a measure of a variant is not as in the rig as it is.
export function differs(r: Row, v: VariantDoc, present: VariantDoc): boolean {
  if (r.key === "slide" || r.key === "no_way_min") return r.of(v) !== r.of(present);
  return v.differences.includes(r.key) && r.of(v) !== r.of(present);
}

// Group is what several variants have in common.
export interface Group {
  names: string;
  of: VariantDoc[];
}

function grouped(variants: VariantDoc[], list: (v: VariantDoc) => string[]): Group[] {
  const out: Group[] = [];
  for (const v of variants) {
    const names = [...new Set(list(v))].join(", ");
    const same = out.find((g) => g.names === names);
    if (same) same.of.push(v);
    else if (names !== "") out.push({ names, of: [v] });
  }
  return out;
}

// massless says which variants leave out which parts for want of a mass, those with the same ones together.
export const massless = (variants: VariantDoc[]): Group[] => grouped(variants, (v) => rows.flatMap((r) => r.lacks?.(v) ?? []));

// unflipped says in which variants no flip is proven for which targets, those with the same ones together.
export const unflipped = (variants: VariantDoc[]): Group[] => grouped(variants, flips);

// idle gives the idle minutes of one target.
export function idle(v: VariantDoc, name: string): string {
  const t = v.targets.find((x) => x.name === name);
  if (!t) return none;
  return t.rises ? ceil(t.idle_min) : "does not rise";
}
