// The level at which moving pictures are drawn. The resolution is always the screen's own: the light is worked
// out at corners instead of points, and the rate gives way; without graphics hardware the smooth edges too, where
// they would cost the rate.

/** "rough": as "plain", without smooth edges. */
export type Quality = "rough" | "plain" | "finest";

interface Steps {
  levels: readonly [low: Quality, high: Quality];
  /** Pictures that take longer, two in a row, are too slow for the higher level; shorter ones quick enough to try it. */
  slow_ms: number;
  quick_ms: number;
}

const HARDWARE: Steps = { levels: ["plain", "finest"], slow_ms: 40, quick_ms: 9 };
// Five pictures a second, and as much time again for the rest of the page.
const SOFTWARE: Steps = { levels: ["rough", "plain"], slow_ms: 110, quick_ms: 40 };
const SLOW_IN_A_ROW = 2;
const QUICK_IN_A_ROW = 6;
const FIRST_WAIT_MS = 20_000;
/** Without graphics hardware a moving picture has at most as many points as this screen. */
const MOST_POINTS = 1920 * 1080;

/** Chooses the level from the time pictures took; a level that was too slow is avoided for longer each time. */
export class Governor {
  level: Quality;
  private readonly steps: Steps;
  private slow = 0;
  private quick = 0;
  private wait_ms = FIRST_WAIT_MS;
  private not_before_ms = 0;

  constructor(software: boolean, level?: Quality) {
    this.steps = software ? SOFTWARE : HARDWARE;
    this.level = level ?? this.steps.levels[1];
  }

  /** Notes how long a picture took to finish; true when the level changes. */
  took(picture_ms: number, now_ms: number): boolean {
    const { levels: [low, high], slow_ms, quick_ms } = this.steps;
    this.slow = picture_ms > slow_ms ? this.slow + 1 : 0;
    this.quick = picture_ms < quick_ms ? this.quick + 1 : 0;
    if (this.level === high && this.slow >= SLOW_IN_A_ROW) {
      this.level = low;
      this.not_before_ms = now_ms + this.wait_ms;
      this.wait_ms *= 2;
    } else if (this.level === low && this.quick >= QUICK_IN_A_ROW && now_ms >= this.not_before_ms) {
      this.level = high;
    } else {
      return false;
    }
    this.slow = this.quick = 0;
    return true;
  }
}

/** Points of the picture for one of the page's: the screen's own, in both states. */
export function ratioOf(width: number, height: number, software: boolean): number {
  const most = Math.sqrt(MOST_POINTS / (width * height));
  return software ? Math.min(devicePixelRatio, Math.max(most, 1)) : devicePixelRatio;
}
