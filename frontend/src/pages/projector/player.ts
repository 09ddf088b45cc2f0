// Plays a lesson's scene on the projector's own bench: skips to its start, then runs to its end.

import type { ClassGhost, Show } from "../../lesson/messages.ts";
import type { Command, Frame } from "../../instrument/messages.ts";

const LONGEST_STEP_S = 60;
// This near the end the rest is one step, so that it ends exactly at the moment asked for.
const NEAR_FRAMES_S = 0.2;

export interface Plan {
  show: Show;
  ghosts: ClassGhost[];
  ghostsFromS: number;
}

export type Stage = "ready" | "playing" | "done";

export class Player {
  private plan: Plan | null = null;
  private untilS: number | null = null;
  private stage: Stage = "ready";
  private stopping = false;

  constructor(private readonly send: (command: Command) => void) {}

  /** What the lesson shows now. The bench is restarted only for something else. */
  want(plan: Plan | null, stage: Stage): void {
    const same = plan !== null && this.plan !== null && JSON.stringify(plan) === JSON.stringify(this.plan);
    const before = same ? this.stage : null;
    this.plan = plan;
    this.stage = stage;
    if (!plan || before === stage) return;
    const { show } = plan;
    if (stage === "ready") this.begin(plan, show.from_s);
    else if (stage === "done") {
      if (before !== "playing") this.begin(plan, show.to_s);
    } else {
      if (before !== "ready") this.begin(plan, show.from_s);
      this.play(show);
    }
  }

  /** After a reconnection the bench may be a new one. */
  again(): void {
    const { plan, stage } = this;
    this.plan = null;
    this.untilS = null;
    this.want(plan, stage);
  }

  /** Stops near the end; the rest, or the excess, is corrected once time is stopped. */
  follow(frame: Frame): void {
    if (this.untilS === null) return;
    const leftS = this.untilS - frame.time_s;
    if (!frame.paused && leftS <= Math.max(frame.pace, 1) * NEAR_FRAMES_S && !this.stopping) {
      this.stopping = true;
      this.send({ do: "pause", on: true });
    } else if (frame.paused && this.stopping) {
      const endS = this.untilS;
      this.untilS = null;
      this.stopping = false;
      if (leftS < -0.05) this.send({ do: "rewind", to_s: endS });
      else this.step(leftS);
    }
  }

  private begin(plan: Plan, atS: number): void {
    const { show, ghosts, ghostsFromS } = plan;
    this.untilS = null;
    this.stopping = false;
    this.send({ do: "take" });
    this.send(show.scene ? { do: "scene", id: show.scene } : { do: "state", text: show.bench });
    this.send({ do: "pause", on: true });
    this.send({ do: "rewind", to_s: 0 });
    const fromS = Math.min(ghostsFromS, atS);
    this.step(fromS);
    for (const ghost of ghosts) this.send({ do: "ghost", id: ghost.id, on: true });
    this.step(atS - fromS);
  }

  private play(show: Show): void {
    if (show.pace) this.send({ do: "pace", factor: show.pace });
    this.untilS = show.to_s;
    this.send({ do: "pause", on: false });
  }

  private step(seconds: number): void {
    let left = Math.round(seconds * 10) / 10;
    while (left >= 0.1) {
      const now = Math.min(left, LONGEST_STEP_S);
      this.send({ do: "step", seconds: Math.round(now * 10) / 10 });
      left = Math.round((left - now) * 10) / 10;
    }
  }
}
