// What the owner asks of this place.

export interface Edit {
  path: string; // of the document, or a short name
  value: string;
}

export interface Variant {
  name: string; // empty: what it changes
  edits: Edit[];
}

export type AimKind = "no-idle" | "past" | "least-idle" | "most-room";

export interface Aim {
  kind: AimKind;
  altitude: number; // degrees; idle time counts above it
  minutes: number; // past the meridian
}

export interface Vary {
  path: string;
  from: number;
  to: number;
}

export interface Keep {
  balance: boolean;
  cables: boolean;
  tipMM: number;
  pushN: number;
}

// LoadWish is what the rig is to stand, what bends what carries the mount, and for which poses.
export interface LoadWish {
  standPushN: number; // 0: not asked
  standWindMS: number; // 0: not asked
  pushN: number;
  windMS: number;
  decFrom: number;
  decTo: number;
}

export interface Wish {
  variants: Variant[];
  lost: "none" | "night" | "season";
  aim: Aim;
  vary: Vary[];
  keep: Keep;
  load: LoadWish;
}

export const usual = (): Wish => ({
  variants: [{ name: "", edits: [{ path: "riser", value: "150" }] }],
  lost: "none",
  aim: { kind: "no-idle", altitude: 30, minutes: 20 },
  vary: [{ path: "riser", from: 0, to: 300 }],
  keep: { balance: false, cables: false, tipMM: 0, pushN: 0 },
  load: { standPushN: 0, standWindMS: 0, pushN: 10, windMS: 4, decFrom: -90, decTo: 90 },
});

// sections of a document may be taken from another file.
export const sections = ["support", "mount", "tube"];

// bounds that a short name starts with.
export const bounds: Record<string, [number, number]> = {
  riser: [0, 300],
  "leg-azimuth": [-60, 60],
  "leg-spread": [350, 650],
  slide: [-80, 80],
  "saddle-riser": [0, 80],
  rotator: [0, 180],
};

export function aimText(a: Aim): string {
  const above = a.kind === "most-room" || a.altitude === 0 ? "" : ` above ${String(a.altitude)}`;
  return (a.kind === "past" ? `past=${String(a.minutes)}` : a.kind) + above;
}

export function loadAsked(l: LoadWish) {
  return { stand_push_n: l.standPushN, stand_wind_m_per_s: l.standWindMS, push_n: l.pushN, wind_m_per_s: l.windMS, dec_from_deg: l.decFrom, dec_to_deg: l.decTo };
}

export const mostVariants = 24;

// spread gives the values of a range; none when it has none, or more than fit side by side.
export function spread(from: number, to: number, step: number): number[] {
  const n = Math.floor((to - from) / step + 1e-9) + 1;
  if (!(step > 0) || !(n >= 1 && n <= mostVariants)) return [];
  return Array.from({ length: n }, (_, i) => Number((from + i * step).toFixed(6)));
}

// read takes what an earlier visit left, when it is of this form.
export function read(text: string | null): Wish {
  try {
    const w = JSON.parse(text ?? "null") as Partial<Wish> | null;
    if (w && Array.isArray(w.variants) && Array.isArray(w.vary) && w.aim && w.keep && w.lost) return { ...usual(), ...w };
  } catch {
    // it is of another form
  }
  return usual();
}
