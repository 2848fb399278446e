import type { AxisPose, CableDoc, LoadDoc, SpanDoc } from "../../api/shapes";
import { hourAngle, showFigure, signed } from "../../ui/figure";

// The load in figures. Proven figures are rounded to the side on which the rig stands less and the cable has to be longer.

const thin = "\u202f";

type Round = "down" | "near" | "up";

// Figure is one number of the load.
export interface Figure {
  of: string; // what it belongs to
  what: string;
  value: number | null; // in no used pose worse; null: not known
  found: number | null; // the worst as found; null: follows without a search
  unit: string;
  digits: number;
  round: Round;
  at: AxisPose | null; // where it was found
  note: string;
}

// Group is what belongs together: its figures, what follows from them, and the methods behind.
export interface Group {
  name: string;
  intro: string;
  says: string[];
  alarms: string[];
  figures: Figure[];
  methods: string[];
}

export function rounded(x: number, digits: number, round: Round): string {
  const p = 10 ** digits;
  const y = round === "down" ? Math.floor(x * p + 1e-9) / p : round === "up" ? Math.ceil(x * p - 1e-9) / p : x;
  const s = showFigure(y, digits);
  return s.includes(".") ? s.replace(/\.?0+$/, "") : s;
}

export const valueWords = (f: Figure, x = f.value) => (x === null ? "not known" : `${rounded(x, f.digits, f.round)}${f.unit === "″" ? "" : thin}${f.unit}`);

export const poseWords = (a: AxisPose) => `side ${a.side}, ${hourAngle(a.hour_angle_h, 1)}, ${signed(a.dec_deg)}°`;

const mm = (x: number, round: Round = "near") => `${rounded(x, 0, round)}${thin}mm`;

// alone is a figure that follows without a search over the poses.
function alone(of: string, what: string, value: number | null, unit: string, round: Round = "near", note = ""): Figure {
  return { of, what, value, found: null, unit, digits: unit === "mm" ? 0 : 2, round, at: null, note };
}

const fine = (f: Figure, digits: number): Figure => ({ ...f, digits });

const along = (x: number, plus: string, minus: string) => `${mm(Math.abs(x))} ${x < 0 ? minus : plus}`;

function balance({ balance: b }: LoadDoc): Group {
  const [d, r] = [b.declination, b.ra];
  const g: Group = { name: "Balance", intro: "With both axes free. What lies out of balance the drive has to hold.", says: [], alarms: [], figures: [], methods: ["balance"] };
  if (!d || !r) {
    g.alarms.push(`Not known without the mass of ${b.missing_mass.join(", ")}.`);
    return g;
  }
  if (d.slide_mm !== null && d.dovetail_slide_mm !== null && Math.abs(d.slide_mm) >= 0.5) {
    const way = (x: number) => along(x, "forward", "backward");
    g.says.push(`Slide the tube ${way(d.slide_mm)} in its rings, or the dovetail ${way(d.dovetail_slide_mm)} in the saddle.`);
  }
  if (d.left_n_m >= 0.1) g.says.push(`What lies aside stays: a weight on the ${d.aside_kg_mm > 0 ? "\u2212" : "+"}y side of the tube makes up for it, 1${thin}kg at ${mm(Math.abs(d.aside_kg_mm))} from the axis.`);
  if (r.weights.length === 0) g.alarms.push("No counterweight has a mass: the drive has to hold that.");
  else if (!r.fits && r.lack_kg > 0) g.alarms.push(`Not in balance: ${rounded(r.lack_kg, 2, "near")}${thin}kg more are needed at the bar's end, or a longer bar.`);
  else if (!r.fits) g.alarms.push(`Not in balance: ${rounded(-r.lack_kg, 2, "near")}${thin}kg too much, at the innermost weight's place.`);
  const dec = "declination axis";
  const ra = "RA axis";
  g.figures.push(
    alone(dec, "turns", d.mass_kg, "kg"),
    alone(dec, "its centre of mass, forward", d.centre_along_mm, "mm"),
    alone(dec, "its centre of mass, aside along +y", d.centre_aside_mm, "mm"),
    alone(dec, "out of balance by up to", d.moment_n_m, "N·m", "up"),
    alone(dec, "tube forward in its rings", d.slide_mm, "mm"),
    alone(dec, "or dovetail forward in the saddle", d.dovetail_slide_mm, "mm"),
    alone(dec, "stays after that", d.left_n_m, "N·m", "up"),
    alone(ra, "turns", r.mass_kg, "kg"),
    alone(ra, "its centre of mass, towards the saddle", r.centre_towards_saddle_mm, "mm"),
    alone(ra, "out of balance by up to", r.moment_n_m, "N·m", "up"),
    ...r.weights.map((w) =>
      alone(`${w.name}, ${rounded(w.mass_kg, 2, "near")}${thin}kg`, "goes to, from the crossing", w.at_mm, "mm", "near", `now ${mm(w.now_mm)}; the bar allows ${mm(w.bar_from_mm, "up")} to ${mm(w.bar_to_mm, "down")}`),
    ),
    alone(ra, "stays once the weights are there", r.left_n_m, "N·m", "up"),
  );
  return g;
}

// tipsUnknown tells whether nothing is known of what tips the rig, for want of a mass.
export const tipsUnknown = (d: LoadDoc) => d.tipping === null || (d.missing_mass.length > 0 && !d.tipping.anchored);

// verdict says in a line how the rig stands. What is not known is not said to be right.
export function verdict(d: LoadDoc): { ok: boolean; text: string } {
  const short = d.cables.some((c) => c.slack_mm < 0) ? ", and a cable is too short" : "";
  if (tipsUnknown(d)) return { ok: false, text: `Whether it tips is not known${short}` };
  if (!d.stands_as_asked) return { ok: false, text: "It does not stand so" };
  if (d.tipping?.anchored) return { ok: true, text: "No cable is too short, and the document says that the support is held down" };
  return { ok: true, text: "No cable is too short, and nothing tips by itself or by what it was asked to stand" };
}

function tipping(d: LoadDoc): Group {
  const t = d.tipping;
  const g: Group = { name: "Tipping", intro: "Over the edge between two feet, at the worst pose.", says: [], alarms: [], figures: [], methods: ["tipping", "wind"] };
  if (!t) {
    g.alarms.push("No part has a mass, so that nothing can be said.");
    return g;
  }
  if (d.missing_mass.length === 0) g.figures.push(alone("whole rig", "stands on the feet", d.mass_kg, "kg"));
  if (t.anchored) {
    g.says.push("The document says that the support is anchored. What holds it down, footing or bolts, is for local codes and a builder to judge.");
    return g;
  }
  if (tipsUnknown(d)) {
    g.alarms.push(`Not known without the mass of ${d.missing_mass.join(", ")}.${t.asked_unknown ? " Whether it stands what was asked is not known either." : ""}`);
    return g;
  }
  const row = (what: string, e: typeof t.push_n, unit: string) => {
    if (e) g.figures.push({ of: "whole rig", what, value: e.proven, found: e.found, unit, digits: 1, round: "down", at: e.at, note: `over ${e.over}, towards azimuth ${showFigure(e.towards_deg)}°` });
  };
  row("centre of mass inside of the feet by", t.distance_mm, "mm");
  row("moment that tips it", t.moment_n_m, "N·m");
  row(`push that tips it, ${mm(t.push_n?.height_mm ?? NaN)} up`, t.push_n, "N");
  row("wind that tips it", t.wind_m_per_s, "m/s");
  if (t.distance_mm && t.distance_mm.proven <= 0) g.alarms.push("It may tip by itself: the centre of mass is not proven to stay inside of the feet. Spread the legs, or lay ballast on them.");
  const r = t.remedy;
  if (r) {
    const asked = [r.asked_push_n > 0 ? `a push of ${rounded(r.asked_push_n, 2, "near")}${thin}N at its top` : "", r.asked_wind_m_per_s > 0 ? `a wind of ${rounded(r.asked_wind_m_per_s, 2, "near")}${thin}m/s` : ""].filter((s) => s !== "");
    if (r.ballast_kg > 0) {
      g.alarms.push(`It does not stand ${asked.join(" or ")} everywhere: ${rounded(r.ballast_kg, 1, "up")}${thin}kg of ballast low on the centre line would do it, or the feet ${mm(r.spread_mm, "up")} further out at the same height.`);
      g.figures.push(fine(alone("whole rig", "ballast that would do", r.ballast_kg, "kg", "up"), 1), alone("whole rig", "or feet further out by", r.spread_mm, "mm", "up"));
    } else g.says.push(`It stands ${asked.join(" and ")} in every such pose.`);
  }
  return g;
}

function bending(d: LoadDoc): Group {
  const g: Group = { name: "Bending", intro: "Of what carries the mount. Legs, joints and the mount give as well, mostly more.", says: [], alarms: [], figures: [], methods: ["bending", "first frequency"] };
  if (d.bending.length === 0) g.says.push("The document has no upright that bends.");
  for (const b of d.bending) {
    if (b.unknown) {
      g.alarms.push(`${b.upright}: not known, the document does not give ${b.unknown}.`);
      continue;
    }
    const of = b.upright;
    const note = b.missing_mass.length > 0 ? `without the mass of ${b.missing_mass.join(", ")}` : "";
    const [push, wind] = [`a push of ${rounded(b.push_n, 2, "near")}${thin}N`, `a wind of ${rounded(b.wind_m_per_s, 2, "near")}${thin}m/s`];
  g.figures.push(
      alone(of, "carries", note === "" ? b.carries_kg : null, "kg", "near", note),
      fine(alone(of, `${push} tilts its top by`, b.push_tilt_arcsec, "″", "up", "at the height where the axes cross"), 1),
      fine(alone(of, `${push} moves it by`, b.push_deflection_mm, "mm", "up"), 4),
      { of, what: `${wind} tilts it by up to`, value: b.wind_tilt_proven_arcsec, found: b.wind_tilt_arcsec, unit: "″", digits: 1, round: "up", at: b.wind_at, note: "" },
      { of, what: "first frequency, if all else were rigid", value: b.frequency_proven_hz, found: b.frequency_hz, unit: "Hz", digits: 1, round: "down", at: null, note: b.frequency_hz === null ? "a mass is missing" : "" },
    );
  }
  return g;
}

function cables(d: LoadDoc): Group {
  const g: Group = { name: "Cables", intro: "Straight from tie to tie. What lies round a housing needs more, and gaps do not see cables.", says: [], alarms: [], figures: [], methods: ["cables"] };
  if (d.cables.length === 0) g.says.push("The document has no cables.");
  for (const c of d.cables) {
    if (c.slack_mm < 0) g.alarms.push(`${c.name} is ${mm(-c.slack_mm, "up")} too short.`);
    g.figures.push(
      alone(c.name, "length, its tolerance taken off", c.length_mm, "mm", "down"),
      { of: c.name, what: "must reach", value: c.reach_proven_mm, found: c.reach_mm, unit: "mm", digits: 0, round: "up", at: c.tightest_at, note: "tightest there" },
      alone(c.name, "to spare", c.slack_mm, "mm", "down"),
      ...(c.tied_mm > c.reach_proven_mm + 1 ? [alone(c.name, "needs, held fast at each tie", c.tied_mm, "mm", "up"), alone(c.name, "to spare, held fast", c.tied_slack_mm, "mm", "down")] : []),
    );
    if (c.tie) {
      const t = c.tie;
      g.says.push(
        `${c.name}: a tie behind ${t.after} on ${t.part} (${t.at_mm.map((x) => showFigure(x)).join(", ")}${thin}mm from its centre along its own axes) would make the loop there ${rounded(t.loop_mm, 0, "up")} instead of ${mm(t.was_mm, "up")}; the cable then needs ${mm(t.tied_mm, "up")}.`,
      );
    }
  }
  return g;
}

// groups are the figures of a load in the order of the command.
export const groups = (d: LoadDoc): Group[] => [balance(d), tipping(d), bending(d), cables(d)];

// byPart keeps figures together that belong to one part.
export function byPart(figures: Figure[]): [string, Figure[]][] {
  const out = new Map<string, Figure[]>();
  for (const f of figures) out.set(f.of, [...(out.get(f.of) ?? []), f]);
  return [...out];
}

// LoopRow is what hangs between two ties, and what that may touch.
export interface LoopRow {
  cable: string;
  between: string;
  leave: string;
  hangs: string;
  touches: string; // hanging still
  nearest: string; // of what it then does not touch
  reaches: string; // blown, swinging or stiff
  slides: string; // with all the cable that may slide into it
}

const nothing = "nothing";

export function loops(d: LoadDoc): LoopRow[] {
  return d.cables.flatMap((c) => c.spans.map((s) => loop(c, s)));
}

function loop(c: CableDoc, s: SpanDoc): LoopRow {
  const left = s.left?.parts ?? [];
  const may = left.filter((p) => p.touch === "may touch").map((p) => p.name);
  const clear = left.filter((p) => p.touch === "clear");
  const more = s.loose?.parts.filter((p) => p.touch === "may touch" && !may.includes(p.name)).map((p) => p.name) ?? [];
  const [first] = clear;
  const known = s.left !== null && s.loose !== null;
  const list = (names: string[]) => (!known ? "not known" : names.length > 0 ? names.join(", ") : nothing);
  return {
    cable: c.name,
    between: `${s.from} – ${s.to}`,
    leave: mm(s.leave_mm, "up"),
    hangs: s.axes === "none" ? "stays as it is" : `up to ${mm(s.loop_mm, "up")}, within ${mm(s.loop_within_mm, "up")} of a tie`,
    touches: list(may),
    nearest: first ? `${mm(first.gap_proven_mm, "down")} or more, ${first.name}` : "",
    reaches: list(clear.map((p) => p.name)),
    slides: s.loose && more.length > 0 ? `${mm(s.loose.length_mm, "up")}: ${more.join(", ")}` : list([]),
  };
}

// table gives every figure as rows of a CSV file, unrounded.
export function table(d: LoadDoc): (string | number | null)[][] {
  const pose = (a: AxisPose | null) => (a ? [a.side, a.hour_angle_h, a.dec_deg] : [null, null, null]);
  return [
    ["section", "of", "figure", "unit", "value", "found", "side", "hour_angle_h", "dec_deg", "note"],
    ...groups(d).flatMap((g) => g.figures.map((f) => [g.name.toLowerCase(), f.of, f.what, f.unit, f.value, f.found, ...pose(f.at), f.note])),
    ...d.cables.flatMap((c) =>
      c.spans.flatMap((s) => {
        const of = `${c.name}: ${s.from} – ${s.to}`;
        return [
          ["hanging loops", of, "leave", "mm", s.leave_mm, null, ...pose(s.tightest_at), ""],
          ["hanging loops", of, "hangs at most", "mm", s.loop_mm, null, ...pose(null), ""],
          ...([["left so and held fast", s.left], ["with all that may slide into it", s.loose]] as const).flatMap(([how, l]) =>
            (l?.parts ?? []).map((p) => ["hanging loops", of, `${how}: gap to ${p.name}`, "mm", p.gap_proven_mm, p.gap_mm, ...pose(p.at), p.touch]),
          ),
        ];
      }),
    ),
  ];
}

// missing says what the load could not count, and what it counts though nobody measured it.
export function missing(d: LoadDoc): string {
  const says: string[] = [];
  if (d.missing_mass.length > 0) says.push(`No mass in the document: ${d.missing_mass.join(", ")}. Give each its mass_kg: what hangs on it is not said without.`);
  const n = d.unmeasured_masses.length;
  if (n > 0) says.push(`${n === 1 ? "One mass is" : `${String(n)} masses are`} unmeasured and ${n === 1 ? "counts" : "count"} as in the template: weigh before you rely on this.`);
  return says.join(" ");
}
