// Bank and pitch by steps: presses add up while the aircraft is still rolling towards the value asked for before.

import type { Frame } from "../../../instrument/messages.ts";
import type { Send } from "../../../instrument/controls/demonstrations.ts";

const STEP_DEG = 5;
const FRESH_MS = 4000;

/** One axis, with its command and its limit. */
export class Steering {
  private askedDeg = 0;
  private askedMs = -Infinity;

  constructor(
    private readonly axis: "bank" | "pitch",
    private readonly mostDeg: number,
    private readonly send: Send,
  ) {}

  by(steps: number, frame: Frame): void {
    const nowMs = performance.now();
    const flown = this.axis === "bank" ? frame.truth.bank_deg : frame.truth.pitch_deg;
    const from = nowMs - this.askedMs < FRESH_MS ? this.askedDeg : Math.round(flown / STEP_DEG) * STEP_DEG;
    this.askedDeg = Math.max(-this.mostDeg, Math.min(this.mostDeg, from + steps * STEP_DEG));
    this.askedMs = nowMs;
    this.send({ do: this.axis, to_deg: this.askedDeg });
  }
}
