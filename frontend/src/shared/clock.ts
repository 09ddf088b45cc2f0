// The server's time on a device: what the server said last, and what has passed since by a clock that never runs back.

/** When something was given, as the device can tell. */
export interface Given {
  given_utc: string;
  /** The server's last word, from which the device counts. */
  heard_utc: string;
  /** By how much more the calendar went on since: some devices' running clock stands still while they sleep. */
  apart_s: number;
}

const utc = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`;

export class Clock {
  private heard: { serverMs: number; runningMs: number; calendarMs: number } | null = null;

  /** The server's time in a reply of its own that has just come. */
  hear(serverMs: unknown): void {
    if (typeof serverMs !== "number" || !Number.isFinite(serverMs) || serverMs <= 0) return;
    this.heard = { serverMs, runningMs: performance.now(), calendarMs: Date.now() };
  }

  /** This moment; null where the server was never heard. */
  now(): Given | null {
    if (!this.heard) return null;
    const { serverMs, runningMs, calendarMs } = this.heard;
    const passedMs = performance.now() - runningMs;
    const apart_s = Math.max(0, Math.round((Date.now() - calendarMs - passedMs) / 1000));
    return { given_utc: utc(serverMs + passedMs), heard_utc: utc(serverMs), apart_s };
  }
}
