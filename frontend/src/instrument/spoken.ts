// The readings in one sentence, for screen readers: every few seconds while they change, or on request.

import { compassWords } from "./dials/compass.ts";
import { headingWords } from "./dials/heading.ts";
import { suctionWords } from "./dials/suction.ts";
import type { Frame } from "./messages.ts";
import { element } from "./page.ts";

const EVERY_MS = 6000;

export class Spoken {
  private saidMs = 0;
  private words = "";

  follow(frame: Frame, nowMs: number): void {
    if (nowMs - this.saidMs > EVERY_MS) this.say(frame, nowMs);
  }

  /** Says it even if it is what was said before. */
  again(frame: Frame): void {
    this.words = "";
    this.say(frame, performance.now());
  }

  private say(frame: Frame, nowMs: number): void {
    this.saidMs = nowMs;
    const words = [headingWords(frame), compassWords(frame), suctionWords(frame)].join(". ");
    if (words !== this.words) element("spoken").textContent = words;
    this.words = words;
  }
}
