import type { OrderDoc, RowDoc, TwoNumberDoc } from "../../api/shapes";
import { duration, minutes, plain } from "../../ui/figure";

// Limits in the words of `legroom limits`: whole minutes from the meridian, rounded to the side that takes time away.

const ms = (h: number) => Math.round(h * 3.6e6); // hour angles are whole milliseconds of time
const minDown = (h: number) => Math.floor(ms(h) / 60e3);
const minUp = (h: number) => Math.ceil(ms(h) / 60e3);
const down = (h: number | null) => (h === null ? "" : minutes(minDown(h)));
const up = (h: number | null) => (h === null ? "" : minutes(minUp(h)));

export function stopWords(r: RowDoc): string {
  switch (r.stop_reason) {
    case "horizon":
      return "no limit (sets first)";
    case "never_ends":
      return "no limit (to +12 h)";
    case "never_usable":
      return "never usable";
    default:
      return down(r.stop_h) + (r.stop_reason === "travel" ? " (axis ends)" : "");
  }
}

export function startWords(r: RowDoc): string {
  switch (r.resume_reason) {
    case "horizon":
      return "no limit (from rising)";
    case "never_ends":
      return "no limit (from −12 h)";
    case "never_usable":
      return "never usable";
    default:
      return up(r.resume_h) + (r.resume_reason === "travel" ? " (axis ends)" : "");
  }
}

// spans writes stretches of hour angle rounded inwards, the unit once; one that rounds away is left out.
export function spans(list: readonly number[][]): string[] {
  return list
    .map(([a = 0, b = 0]): [number, number] => [minUp(a), minDown(b)])
    .filter(([a, b]) => a <= b)
    .map(([a, b]) => `${minutes(a).split("\u202f")[0] ?? ""}…${minutes(b)}`);
}

// flipWords says when to flip, or from when to when there is nothing to do; * marks a change of sides that is not proven.
export function flipWords(r: RowDoc): string {
  const [noWest, noEast] = [r.stop_reason === "never_usable", r.resume_reason === "never_usable"];
  if (noWest && noEast) return "no room on either side";
  if (noWest || noEast) return "one side only, no flip";
  const windows = spans(r.flip_h);
  if (windows.length > 0) return windows.join(", ");
  if (r.flip_h.length > 0) return "flip proven for less than a minute";
  if (r.stop_reason === "horizon" || r.stop_reason === "never_ends") return "no flip needed";
  if (r.cross_h !== null) return `stop at ${down(r.stop_h)}, flip at ${up(r.cross_h)}`;
  if (r.idle_min > 0) return `stop at ${down(r.stop_h)}, start at ${up(r.resume_h)} *`;
  return "no flip proven *";
}

// past says where a limit lies from the meridian: on side west the run may go on until there, on side east it may start there. null: no
// hour angle says it.
export function past(beyond: number | null, side: "west" | "east"): string {
  if (beyond === null) return "go by the axis angle alone";
  const min = Math.floor(beyond + 1e-9);
  const verb = side === "west" ? "track until" : "start from";
  if (min === 0) return `${verb} the meridian`;
  return `${verb} ${duration(Math.abs(min))} ${min > 0 === (side === "west") ? "past" : "before"} the meridian`;
}

// offPole says what the minutes of a pair are worth with a head that is off the pole; nothing for one that is on it.
export function offPole(two: TwoNumberDoc): string {
  if (two.off_pole_deg === 0) return "";
  const s = `The polar axis points ${plain(Math.ceil(two.off_pole_deg * 100) / 100, 2)}° beside the pole, so that at each declination the axis comes to these angles at another hour angle.`;
  const [from, to] = [two.minutes_dec_from_deg, two.minutes_dec_to_deg];
  if (from === null || to === null) return `${s} At the pair's declinations no hour angle says where the axis is: go by its angle alone.`;
  const inward = (deg: number, by: (x: number) => number) => plain(by(deg * 100) / 100, 2);
  return `${s} The minutes keep within them at declinations ${inward(from, Math.ceil)}° to ${inward(to, Math.floor)}°; at any other go by the axis angle alone.`;
}

const orderNames: Record<OrderDoc["axis_order"], string> = {
  unknown: "as it is: each must be free",
  both_at_once: "both at once",
  ra_first: "RA axis first",
  dec_first: "declination axis first",
};

// orders says what the bands have in each order of the axes, as the document stands first; nothing where the document says which.
export function orders(list: readonly OrderDoc[]): { name: string; flip: string; none: string }[] {
  if (!list.some((o) => o.axis_order !== "unknown")) return [];
  return list.map((o) => ({
    name: orderNames[o.axis_order],
    flip: duration(Math.floor(o.mean_flip_min)),
    none: o.bands_without_flip > 0 ? `${String(o.bands_without_flip)} of ${String(o.bands)} bands have none` : "",
  }));
}
