// Places labels in the picture: in a column at either side, none on another, with a line to the part.

import { type PerspectiveCamera, Vector3 } from "three";
import type { Label } from "./labels.ts";

export interface Placed {
  text: string;
  colour: string;
  x: number;
  y: number;
  align: "left" | "right" | "center";
  /** What the line leads to; absent for a label that stands at its point. */
  to?: { x: number; y: number };
}

export interface Sheet {
  width: number;
  height: number;
  letter: number;
  measure: (text: string) => number;
}

/** Letters for the back row: a fortieth of the picture's height, within what its width bears. */
export function letterOf(width: number, height: number): number {
  return Math.round(Math.min(Math.max(height / 38, 13), 30, Math.max(width / 30, 12)));
}

function spread(column: Placed[], sheet: Sheet): void {
  const step = sheet.letter * 1.45;
  column.sort((a, b) => a.y - b.y);
  const top = sheet.letter;
  const bottom = sheet.height - sheet.letter;
  column.forEach((one, i) => {
    const above = column[i - 1];
    one.y = Math.max(one.y, above ? above.y + step : top);
  });
  const over = (column.at(-1)?.y ?? 0) - bottom;
  if (over <= 0) return;
  for (let i = column.length - 1, limit = bottom; i >= 0; i--, limit -= step) {
    const one = column[i] as Placed;
    one.y = Math.min(one.y, limit);
  }
}

function clear(free: Placed[], sheet: Sheet): void {
  const high = sheet.letter * 1.3;
  free.forEach((one, i) => {
    const half = sheet.measure(one.text) / 2;
    one.x = Math.min(Math.max(one.x, half + 4), sheet.width - half - 4);
    one.y = Math.min(Math.max(one.y, high), sheet.height - high);
    for (const other of free.slice(0, i)) {
      const near = Math.abs(other.x - one.x) < half + sheet.measure(other.text) / 2;
      if (near && Math.abs(other.y - one.y) < high) one.y = other.y + (one.y < other.y ? -high : high);
    }
  });
}

export function layOut(labels: readonly Label[], camera: PerspectiveCamera, sheet: Sheet): Placed[] {
  const seen = new Vector3();
  const columns: Record<"left" | "right", Placed[]> = { left: [], right: [] };
  const free: Placed[] = [];
  const edge = sheet.letter * 0.6;
  for (const { text, at, colour, beside } of labels) {
    seen.copy(at).project(camera);
    if (seen.z > 1) continue;
    const to = { x: ((seen.x + 1) / 2) * sheet.width, y: ((1 - seen.y) / 2) * sheet.height };
    if (!beside) {
      free.push({ text, colour, ...to, align: "center" });
      continue;
    }
    const align = to.x < sheet.width / 2 ? "left" : "right";
    columns[align].push({ text, colour, x: align === "left" ? edge : sheet.width - edge, y: to.y, align, to });
  }
  spread(columns.left, sheet);
  spread(columns.right, sheet);
  clear(free, sheet);
  return [...columns.left, ...columns.right, ...free];
}
