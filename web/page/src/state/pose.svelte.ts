import { post, words } from "../api/client";
import type { Pose, PoseDoc, Side } from "../api/shapes";
import { draft } from "./draft.svelte";
import { question } from "./question.svelte";

// PoseState is where the rig on the page points, and the server's answer for a pose: that of now, or while a slider moves one a
// few hundredths of a second old. One question is under way at a time, and the next one asks for the pose of then.
class PoseState {
  side = $state<Side>("west");
  hourAngleH = $state(-1);
  decDeg = $state(40);
  answer = $state.raw<PoseDoc | null>(null);
  problem = $state("");

  #asking = false;
  #again = false;
  #of = $state(""); // the question that the answer is to
  #rig = ""; // the rig that the answer is of

  get now(): Pose {
    return { side: this.side, hourAngleH: this.hourAngleH, decDeg: this.decDeg };
  }

  // current tells whether the answer is to the question of now, and for the pose of now.
  get current(): boolean {
    const a = this.answer;
    return (
      a !== null &&
      this.#of === question.key &&
      a.side === this.side &&
      Math.abs(a.hour_angle_h - this.hourAngleH) < 1e-6 &&
      Math.abs(a.dec_deg - this.decDeg) < 1e-6
    );
  }

  set(p: Partial<Pose>) {
    if (p.side) this.side = p.side;
    if (p.hourAngleH !== undefined) this.hourAngleH = p.hourAngleH;
    if (p.decDeg !== undefined) this.decDeg = p.decDeg;
  }

  // ask asks for the pose of now; call it from an effect, which runs again when the pose or the rig changes.
  ask() {
    const body = question.body({ side: this.side, hour_angle_h: this.hourAngleH, dec_deg: this.decDeg });
    if (!draft.good) {
      this.answer = null;
      return;
    }
    if (this.#asking) {
      this.#again = true;
      return;
    }
    void this.#send(body, question.key);
  }

  async #send(body: ReturnType<typeof question.body>, key: string) {
    this.#asking = true;
    this.#again = false;
    try {
      const answer = await post<PoseDoc>("/pose", body);
      if (body.id === draft.id) {
        this.#rig = body.id ?? "";
        this.#of = key;
        this.answer = answer;
        this.problem = "";
      }
    } catch (err) {
      this.problem = words(err);
      if (this.#rig !== draft.id) this.answer = null;
    } finally {
      this.#asking = false;
      if (this.#again) this.ask();
    }
  }
}

export const pose = new PoseState();
