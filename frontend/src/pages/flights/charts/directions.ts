// Headings as a line: continuous where possible, else 0 to 360 with gaps at north.

import type { Column } from "../reply.ts";

const WIDEST_DEG = 400;

function nearest(value: number, to: number): number {
  return value + 360 * Math.round((to - value) / 360);
}

/** Unwraps the first column and moves the others with it. */
export function unwrapped(columns: Column[]): Column[] {
  const lead = columns[0] ?? [];
  let last: number | null = null;
  const base = lead.map((value) => {
    if (value === null) return null;
    last = last === null ? value : nearest(value, last);
    return last;
  });
  return columns.map((column) =>
    column.map((value, row) => {
      const beside = base[row];
      return value === null || beside === null || beside === undefined ? null : nearest(value, beside);
    }),
  );
}

/** A gap wherever the card passes north, so that no line is drawn across the chart. */
function broken(column: Column): Column {
  return column.map((value, row) => {
    const before = column[row - 1];
    return value !== null && before !== null && before !== undefined && Math.abs(value - before) > 180 ? null : value;
  });
}

/** Columns ready to draw against the first, and whether they are continuous. */
export function drawn(columns: Column[]): { columns: Column[]; unbroken: boolean } {
  const carried = unwrapped(columns);
  const values = (carried[0] ?? []).filter((value): value is number => value !== null);
  let low = Infinity;
  let high = -Infinity;
  for (const value of values) {
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (high - low <= WIDEST_DEG) return { columns: carried, unbroken: true };
  return { columns: columns.map(broken), unbroken: false };
}
