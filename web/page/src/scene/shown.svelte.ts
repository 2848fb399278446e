import type { Nearest, PartDoc } from "../api/shapes";
import { draft } from "../state/draft.svelte";
import { pose } from "../state/pose.svelte";
import { type Angles, Head } from "./axes";
import { below } from "./gap";

// Shown is what a picture of a rig shows.
export interface Shown {
  readonly rig: string | null; // another one is looked at from its first view
  readonly head: Head | null;
  readonly parts: PartDoc[]; // as an answer has them
  readonly placed: Angles | null; // where the axes stand in that answer
  readonly now: Angles | null; // where the parts are moved on to
  readonly nearest: Nearest[]; // at that answer, closest first
  readonly current: boolean; // nearest is for now, too
  readonly label?: { words: string; said: string } | null; // of the line of the nearest, where that is no answer about room
  readonly below: ReadonlySet<string>; // names of parts below the margin
  readonly where: string; // now, in words
  readonly problem: string; // why there is nothing to show
}

const rad = Math.PI / 180;

export function anglesOf(raDeg: number, decDeg: number): Angles {
  return { ra: raDeg * rad, dec: decDeg * rad };
}

// Drafted is the chosen rig as the owner has it on the page, at the pose of now.
class Drafted implements Shown {
  head = $derived(draft.good?.head ? new Head(draft.good.head, draft.good.crossing_mm) : null);
  parts = $derived(pose.answer?.parts ?? []);
  placed = $derived.by(() => {
    const a = pose.answer;
    return a && this.head ? this.head.angles({ side: a.side, hourAngleH: a.hour_angle_h, decDeg: a.dec_deg }) : null;
  });
  now = $derived(this.head?.angles(pose.now) ?? null);
  nearest = $derived(pose.answer?.nearest ?? []);
  below = $derived(below(pose.answer));
  where = $derived.by(() => {
    const a = pose.answer;
    return a ? `on side ${a.side}, hour angle ${a.hour_angle_h.toFixed(2)} h, declination ${a.dec_deg.toFixed(1)}°` : "";
  });

  get rig(): string | null {
    return draft.id;
  }

  get current(): boolean {
    return pose.current;
  }

  get problem(): string {
    return pose.problem;
  }
}

export const drafted: Shown = new Drafted();
