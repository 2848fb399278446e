// What the owner asks of a night besides date and targets.
export interface Settings {
  altitudeDeg: number;
  twilight: "civil" | "nautical" | "astronomical" | "own";
  sunDeg: number; // counts when twilight is "own"
  moonDeg: number;
  moonPercent: number;
  subS: number;
  downloadS: number;
  ditherS: number;
  blockMin: number;
  limits: "declination" | "two-number";
}

export const standard: Settings = {
  altitudeDeg: 0,
  twilight: "astronomical",
  sunDeg: -15,
  moonDeg: 0,
  moonPercent: 0,
  subS: 300,
  downloadS: 0,
  ditherS: 0,
  blockMin: 20,
  limits: "declination",
};

export type Figure = { [K in keyof Settings]: Settings[K] extends number ? K : never }[keyof Settings];

export interface Field {
  key: Figure;
  label: string;
  unit: string;
  min: number;
  max: number;
  help: string;
}

// The ranges are the server's.
export const fields: readonly Field[] = [
  { key: "altitudeDeg", label: "Least altitude", unit: "°", min: 0, max: 90, help: "besides the site's horizon" },
  { key: "moonDeg", label: "Distance from the Moon", unit: "°", min: 0, max: 180, help: "at least, while it is up" },
  { key: "moonPercent", label: "A Moon matters from", unit: "% lit", min: 0, max: 100, help: "below that it may be near" },
  { key: "subS", label: "Sub-exposure", unit: "s", min: 1, max: 21600, help: "for targets that do not say" },
  { key: "downloadS", label: "Download", unit: "s", min: 0, max: 3600, help: "until the picture is in" },
  { key: "ditherS", label: "Dither", unit: "s", min: 0, max: 3600, help: "until the next one starts" },
  { key: "blockMin", label: "Least block", unit: "min", min: 1, max: 1440, help: "on one target and side" },
];

export const own: Field = { key: "sunDeg", label: "Sun below", unit: "°", min: -90, max: -0.1, help: "altitude of its centre" };

const sun = { civil: -6, nautical: -12, astronomical: -18 };

export function sunBelow(s: Settings): number {
  return s.twilight === "own" ? s.sunDeg : sun[s.twilight];
}

// ask is what a request says of them.
export function ask(s: Settings) {
  return {
    least_altitude_deg: s.altitudeDeg,
    sun_below_deg: sunBelow(s),
    moon_apart_deg: s.moonDeg,
    moon_lit: s.moonPercent / 100,
    sub_s: s.subS,
    download_s: s.downloadS,
    dither_s: s.ditherS,
    least_block_min: s.blockMin,
    limits: s.limits,
  };
}

export function within(f: Field, v: number): boolean {
  return v >= f.min && v <= f.max;
}

// read takes settings as the browser kept them; what is not there or not right is as at the start.
export function read(text: string | null): Settings {
  const out = { ...standard };
  let kept: Partial<Record<keyof Settings, unknown>>;
  try {
    kept = (JSON.parse(text ?? "{}") ?? {}) as typeof kept;
  } catch {
    return out;
  }
  for (const f of [...fields, own]) {
    const v = kept[f.key];
    if (typeof v === "number" && within(f, v)) out[f.key] = v;
  }
  const named = (["own", "civil", "nautical", "astronomical"] as const).find((t) => t === kept.twilight);
  if (named) out.twilight = named;
  if (kept.limits === "two-number") out.limits = kept.limits;
  return out;
}

// changed tells how many are not as at the start.
export function changed(s: Settings): number {
  return (Object.keys(standard) as (keyof Settings)[]).filter((k) => s[k] !== standard[k] && (k !== "sunDeg" || s.twilight === "own")).length;
}
