// How long the script takes for each frame that is drawn, kept for a look from outside.

const KEPT = 600;

export class Measure {
  private readonly spent_ms: number[] = [];

  add(spentMs: number): void {
    this.spent_ms.push(spentMs);
    if (this.spent_ms.length > KEPT) this.spent_ms.shift();
  }

  /** Milliseconds of script that so large a share of the frames stays under. */
  quantile(share: number): number {
    const sorted = [...this.spent_ms].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0;
  }

  get count(): number {
    return this.spent_ms.length;
  }
}
