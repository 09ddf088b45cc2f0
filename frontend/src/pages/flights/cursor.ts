// The moment shown by all drawings: one row.

export type Watcher = (row: number) => void;

export class Cursor {
  private watchers: Watcher[] = [];
  private times: number[] = [0];
  row = 0;
  /** Held by a click: moving the pointer over a drawing does not change the moment. */
  held = false;

  get timeS(): number {
    return this.times[this.row] ?? 0;
  }

  get endS(): number {
    return this.times[this.times.length - 1] ?? 0;
  }

  watch(watcher: Watcher): void {
    this.watchers.push(watcher);
  }

  /** For another flight: removes the watchers and keeps the moment if it is within the flight. */
  begin(times: number[], watchers: Watcher[], timeS: number): void {
    this.times = times;
    this.watchers = watchers;
    this.row = this.nearest(Math.min(timeS, this.endS));
  }

  to(row: number): void {
    this.row = Math.max(0, Math.min(this.times.length - 1, row));
    for (const watcher of this.watchers) watcher(this.row);
  }

  toTime(timeS: number): void {
    this.to(this.nearest(timeS));
  }

  nearest(timeS: number): number {
    let low = 0;
    let high = this.times.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((this.times[middle] ?? 0) <= timeS) low = middle;
      else high = middle;
    }
    return timeS - (this.times[low] ?? 0) <= (this.times[high] ?? 0) - timeS ? low : high;
  }

  /** Arrow keys: ten seconds, a minute with Shift or Page keys, both ends. Returns whether the key was one of them. */
  key(event: KeyboardEvent): boolean {
    if (event.key === "Escape") this.held = false;
    const stepS = event.shiftKey ? 60 : 10;
    const moves: Record<string, number> = {
      ArrowRight: this.timeS + stepS,
      ArrowLeft: this.timeS - stepS,
      ArrowUp: this.timeS + stepS,
      ArrowDown: this.timeS - stepS,
      PageUp: this.timeS + 60,
      PageDown: this.timeS - 60,
      Home: 0,
      End: this.endS,
    };
    const toS = moves[event.key];
    if (toS === undefined || event.ctrlKey || event.altKey || event.metaKey) return false;
    event.preventDefault();
    const before = this.row;
    this.toTime(Math.max(0, Math.min(this.endS, toS)));
    // Where rows are further apart than the step, one row at least.
    if (this.row === before && toS > 0 && toS < this.endS) this.to(before + Math.sign(toS - this.timeS));
    return true;
  }
}
