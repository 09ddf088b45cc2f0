// Script time for each frame drawn, for tests.

const KEPT = 600;

export class Measure {
  private readonly spent_ms: number[] = [];

  add(spentMs: number): void {
    this.spent_ms.push(spentMs);
    if (this.spent_ms.length > KEPT) this.spent_ms.shift();
  }

  /** Script time in milliseconds at this quantile of the frames. */
  quantile(share: number): number {
    const sorted = [...this.spent_ms].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0;
  }

  get count(): number {
    return this.spent_ms.length;
  }
}
