// What the bench has shown so far, thinned out so that hours fit: for the history and strips of moments.

import type { Frame, Ledger } from "../../instrument/messages.ts";

const MOST_ROWS = 900;

const BEGUN_S = 0.5;

export interface Row {
  time_s: number;
  ledger: Ledger;
  /** The whole frame, if this page received it. */
  frame: Frame | null;
}

export class Recording {
  rows: Row[] = [];
  settings_s: number[] = [];
  private everyS = 0.2;

  /** Rows from the server for the time before this page was opened. */
  begin(history: Ledger[]): void {
    this.rows = history.map((ledger) => ({ time_s: ledger["time_s"] ?? 0, ledger, frame: null }));
    this.settings_s = [];
    this.everyS = 0.2;
  }

  add(frame: Frame): void {
    const last = this.rows[this.rows.length - 1];
    if (last && frame.time_s < last.time_s) this.cut(frame.time_s);
    const setS = frame.time_s - frame.since_set_s;
    const known = this.settings_s[this.settings_s.length - 1];
    if (known === undefined || setS > known + 0.5) this.settings_s.push(setS);
    const newest = this.rows[this.rows.length - 1];
    if (newest && frame.time_s - newest.time_s < this.everyS) return;
    this.rows.push({ time_s: frame.time_s, ledger: frame.ledger, frame });
    if (this.rows.length > MOST_ROWS) this.thin();
  }

  /** Evenly spaced moments of the last seconds, of those this page received. */
  evenly(count: number, overS: number): Frame[] {
    const seen = this.rows.flatMap((row) => (row.frame ? [row.frame] : []));
    const end = seen[seen.length - 1]?.time_s ?? 0;
    const start = Math.max(seen[0]?.time_s ?? 0, end - overS);
    const wanted = Array.from({ length: count }, (_, index) => start + ((end - start) * index) / (count - 1));
    return wanted.flatMap((timeS) => nearest(seen, timeS) ?? []);
  }

  /** Going back forgets what came later; a restarted bench has no past. */
  private cut(timeS: number): void {
    if (timeS < BEGUN_S) {
      this.begin([]);
      return;
    }
    this.rows = this.rows.filter((row) => row.time_s <= timeS);
    this.settings_s = this.settings_s.filter((setS) => setS <= timeS);
  }

  private thin(): void {
    this.rows = this.rows.filter((_, index) => index % 2 === 0 || index > MOST_ROWS - 4);
    this.everyS = Math.max(this.everyS, ((this.rows.at(-1)?.time_s ?? 0) - (this.rows[0]?.time_s ?? 0)) / MOST_ROWS);
  }
}

function nearest(frames: Frame[], timeS: number): Frame | undefined {
  let best: Frame | undefined;
  for (const frame of frames) {
    if (!best || Math.abs(frame.time_s - timeS) < Math.abs(best.time_s - timeS)) best = frame;
  }
  return best;
}
