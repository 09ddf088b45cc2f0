// The level of detail: lower when frames take long, higher again after a run of quick ones.

export type Quality = 0 | 1 | 2 | 3;

export interface Level {
  /** Most pixels per CSS pixel. */
  most_ratio: number;
  share_of_ratio: number;
  fine: boolean;
  ground: boolean;
}

export const LEVELS: Record<Quality, Level> = {
  3: { most_ratio: 2, share_of_ratio: 1, fine: true, ground: true },
  2: { most_ratio: 1.25, share_of_ratio: 1, fine: true, ground: true },
  1: { most_ratio: 1, share_of_ratio: 1, fine: false, ground: true },
  0: { most_ratio: 1, share_of_ratio: 0.75, fine: false, ground: false },
};

const SLOW_MS = 40;
/** One frame this slow leads straight to the fastest level. */
const HOPELESS_MS = 120;
const QUICK_MS = 9;
const SLOW_IN_A_ROW = 2;
const QUICK_IN_A_ROW = 6;
const FIRST_WAIT_MS = 20_000;

/** Chooses the level from the time frames took; a level that was too slow is avoided for longer each time. */
export class Governor {
  level: Quality;
  private slow = 0;
  private quick = 0;
  private wait_ms = FIRST_WAIT_MS;
  private not_before_ms = 0;

  constructor(start: Quality) {
    this.level = start;
  }

  /** Notes how long a frame took to finish; true when the level changes. */
  took(frame_ms: number, now_ms: number): boolean {
    this.slow = frame_ms > SLOW_MS ? this.slow + 1 : 0;
    this.quick = frame_ms < QUICK_MS ? this.quick + 1 : 0;
    if (this.level > 0 && (this.slow >= SLOW_IN_A_ROW || frame_ms > HOPELESS_MS)) {
      this.level = frame_ms > HOPELESS_MS ? 0 : ((this.level - 1) as Quality);
      this.not_before_ms = now_ms + this.wait_ms;
      this.wait_ms *= 2;
    } else if (this.quick >= QUICK_IN_A_ROW && this.level < 3 && now_ms >= this.not_before_ms) {
      this.level = (this.level + 1) as Quality;
    } else {
      return false;
    }
    this.slow = this.quick = 0;
    return true;
  }
}
