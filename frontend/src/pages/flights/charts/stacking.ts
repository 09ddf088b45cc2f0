// The ledger as bands: positive parts stacked up, negative parts stacked down.

import type { Cause, Column, Ledger } from "../reply.ts";

export interface Band {
  cause: Cause;
  /** Inner and outer edge above zero, and below it, row by row. */
  upIn: Float64Array;
  upOut: Float64Array;
  downIn: Float64Array;
  downOut: Float64Array;
}

export function bands(ledger: Ledger, causes: Cause[], rows: number): Band[] {
  let up = new Float64Array(rows);
  let down = new Float64Array(rows);
  const out: Band[] = [];
  for (const cause of causes) {
    const column: Column = ledger[cause.key] ?? [];
    const upOut = Float64Array.from(up);
    const downOut = Float64Array.from(down);
    for (let row = 0; row < rows; row += 1) {
      const value = column[row] ?? 0;
      if (value > 0) upOut[row] = (upOut[row] ?? 0) + value;
      else downOut[row] = (downOut[row] ?? 0) + value;
    }
    out.push({ cause, upIn: up, upOut, downIn: down, downOut });
    up = upOut;
    down = downOut;
  }
  return out;
}

/** Least and greatest value of columns between two rows, null for none. */
export function extent(columns: ArrayLike<number | null>[], from: number, to: number): [number, number] | null {
  let low = Infinity;
  let high = -Infinity;
  for (const column of columns) {
    for (let row = from; row <= to; row += 1) {
      const value = column[row];
      if (value === null || value === undefined) continue;
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  return low <= high ? [low, high] : null;
}
