// The server's time on a device: the last time it sent, plus what has passed on a clock that never runs backwards.

/** When something was given, as far as the device knows. */
export interface Given {
  given_utc: string;
  /** The last time the server sent, from which the device counts. */
  heard_utc: string;
  /** How much further the calendar clock has moved: on some devices the running clock stops during sleep. */
  apart_s: number;
}

const utc = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`;

export class Clock {
  private heard: { serverMs: number; runningMs: number; calendarMs: number } | null = null;

  /** Takes the server's time from a reply that has just come. */
  hear(serverMs: unknown): void {
    if (typeof serverMs !== "number" || !Number.isFinite(serverMs) || serverMs <= 0) return;
    this.heard = { serverMs, runningMs: performance.now(), calendarMs: Date.now() };
  }

  /** The present moment; null before the server's first reply. */
  now(): Given | null {
    if (!this.heard) return null;
    const { serverMs, runningMs, calendarMs } = this.heard;
    const passedMs = performance.now() - runningMs;
    const apart_s = Math.max(0, Math.round((Date.now() - calendarMs - passedMs) / 1000));
    return { given_utc: utc(serverMs + passedMs), heard_utc: utc(serverMs), apart_s };
  }
}
