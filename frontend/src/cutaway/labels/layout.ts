// Places labels in the picture: in a column on either side of the drawing (in a tall picture above and
// below it), without overlaps, each with a line to its part.

import { type PerspectiveCamera, Vector3 } from "three";
import type { Label } from "./label.ts";

/** Points further out than this, with half the picture as 1, have no label. */
const EDGE = 1.04;

export interface Spot {
  x: number;
  y: number;
}

export interface Placed extends Spot {
  text: string;
  colour: string;
  align: "left" | "right" | "center";
  /** The end of the line; absent for a label at its point. */
  to?: Spot;
}

export interface Sheet {
  width: number;
  height: number;
  letter: number;
  measure: (text: string) => number;
}

/** Letter size for the back row: a share of the picture's height, limited by its width. */
export function letterOf(width: number, height: number): number {
  return Math.round(Math.min(Math.max(height / 36, 13), 32, Math.max(width / 30, 13)));
}

/** Moves the labels of a column apart, and all of them into the picture. */
function spread(column: Placed[], sheet: Sheet): void {
  const step = sheet.letter * 1.45;
  column.sort((a, b) => a.y - b.y);
  column.forEach((one, i) => {
    const above = column[i - 1];
    one.y = Math.max(one.y, above ? above.y + step : sheet.letter);
  });
  let limit = sheet.height - sheet.letter;
  for (const one of [...column].reverse()) {
    one.y = Math.min(one.y, limit);
    limit = one.y - step;
  }
}

function besides(columns: Record<"left" | "right", Placed[]>, reach: readonly Spot[], sheet: Sheet): void {
  const gap = sheet.letter * 2;
  const edge = sheet.letter * 0.6;
  for (const side of ["left", "right"] as const) {
    const column = columns[side];
    const xs = [...reach, ...column.map((one) => one.to as Spot)].map((one) => one.x);
    for (const one of column) {
      const wide = sheet.measure(one.text) + edge;
      one.align = side === "left" ? "right" : "left";
      if (side === "left") one.x = Math.max(Math.min(...xs) - gap, wide);
      else one.x = Math.min(Math.max(...xs) + gap, sheet.width - wide);
    }
    spread(column, sheet);
  }
}

function aboveAndBelow(all: Placed[], reach: readonly Spot[], sheet: Sheet): void {
  const ys = [...reach, ...all.map((one) => one.to as Spot)].map((one) => one.y);
  all.sort((a, b) => a.y - b.y);
  const half = Math.ceil(all.length / 2);
  const step = sheet.letter * 1.4;
  all.forEach((one, i) => {
    const reach = sheet.measure(one.text) / 2 + 6;
    one.align = "center";
    one.x = Math.min(Math.max(one.to?.x ?? 0, reach), sheet.width - reach);
    const top = Math.max(Math.min(...ys) - half * step, step);
    const foot = Math.min(Math.max(...ys) + 4 * step, sheet.height - (all.length - half) * step);
    one.y = i < half ? top + i * step : foot + (i - half) * step;
  });
}

/** Moves labels at their points away from the others; returns those that found room. */
function clear(free: readonly Placed[], columns: readonly Placed[], sheet: Sheet): Placed[] {
  const high = sheet.letter * 1.3;
  const shift = { left: 0.5, center: 0, right: -0.5 } as const;
  const middle = (one: Placed): number => one.x + shift[one.align] * sheet.measure(one.text);
  const standing = [...columns];
  for (const one of free) {
    const wide = sheet.measure(one.text);
    const before = wide * (0.5 - shift[one.align]);
    one.x = Math.min(Math.max(one.x, before + 4), sheet.width - (wide - before) - 4);
    const wanted = Math.min(Math.max(one.y, high), sheet.height - high);
    const isFree = (y: number): boolean =>
      y >= high &&
      y <= sheet.height - high &&
      standing.every(
        (other) =>
          Math.abs(middle(other) - middle(one)) >= (wide + sheet.measure(other.text)) / 2 ||
          Math.abs(other.y - y) >= high * 0.99,
      );
    const room = [0, -1, 1, -2, 2].map((lines) => wanted + lines * high).find(isFree);
    if (room === undefined) continue;
    one.y = room;
    standing.push(one);
  }
  return standing.slice(columns.length);
}

export function layOut(
  labels: readonly Label[],
  corners: readonly Vector3[],
  camera: PerspectiveCamera,
  sheet: Sheet,
): Placed[] {
  const on = (at: Vector3): Spot & { inside: boolean } => {
    const seen = at.clone().project(camera);
    const inside = seen.z < 1 && Math.max(Math.abs(seen.x), Math.abs(seen.y)) < EDGE;
    return { x: ((seen.x + 1) / 2) * sheet.width, y: ((1 - seen.y) / 2) * sheet.height, inside };
  };
  const columns: Record<"left" | "right", Placed[]> = { left: [], right: [] };
  const free: Placed[] = [];
  for (const { text, at, colour, stands, side } of labels) {
    const { x, y, inside } = on(at);
    if (!inside) continue;
    if (stands === "beside") {
      const column = columns[side ?? (x < sheet.width / 2 ? "left" : "right")];
      column.push({ text, colour, x, y, align: "left", to: { x, y } });
    } else {
      free.push({ text, colour, x, y, align: stands });
    }
  }
  const both = [...columns.left, ...columns.right];
  if (sheet.width < 0.9 * sheet.height) aboveAndBelow(both, corners.map(on), sheet);
  else besides(columns, corners.map(on), sheet);
  return [...both, ...clear(free, both, sheet)];
}
