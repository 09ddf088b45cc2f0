// The level at which moving pictures are drawn. The resolution is always the screen's own, and edges are smooth: the
// light is worked out at corners instead of points, and the rate gives way.

export type Quality = "plain" | "finest";

/** Pictures that take longer, two in a row, are too slow for the finest level; shorter ones quick enough to try it. */
const SLOW_MS = 40;
const QUICK_MS = 9;
const SLOW_IN_A_ROW = 2;
const QUICK_IN_A_ROW = 6;
const FIRST_WAIT_MS = 20_000;
/** Without graphics hardware a moving picture has at most as many points as this screen. */
const MOST_POINTS = 1920 * 1080;

/** Chooses the level from the time pictures took; a level that was too slow is avoided for longer each time. */
export class Governor {
  level: Quality;
  private slow = 0;
  private quick = 0;
  private wait_ms = FIRST_WAIT_MS;
  private not_before_ms = 0;

  constructor(
    /** Without graphics hardware what moves is always drawn plainly. */
    private readonly software: boolean,
    level?: Quality,
  ) {
    this.level = level ?? (software ? "plain" : "finest");
  }

  /** Notes how long a picture took to finish; true when the level changes. */
  took(picture_ms: number, now_ms: number): boolean {
    if (this.software) return false;
    this.slow = picture_ms > SLOW_MS ? this.slow + 1 : 0;
    this.quick = picture_ms < QUICK_MS ? this.quick + 1 : 0;
    if (this.level === "finest" && this.slow >= SLOW_IN_A_ROW) {
      this.level = "plain";
      this.not_before_ms = now_ms + this.wait_ms;
      this.wait_ms *= 2;
    } else if (this.level === "plain" && this.quick >= QUICK_IN_A_ROW && now_ms >= this.not_before_ms) {
      this.level = "finest";
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
