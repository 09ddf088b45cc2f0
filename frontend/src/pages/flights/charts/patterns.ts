// The canvas pattern of each cause: the fill, with strokes in its ink on an 8 by 8 tile.

import type { Cause } from "../reply.ts";

const TILE = 8;

export function pattern(context: CanvasRenderingContext2D, cause: Cause, ratio: number): CanvasPattern | string {
  const tile = document.createElement("canvas");
  const scale = Math.max(1, Math.round(ratio));
  tile.width = TILE * scale;
  tile.height = TILE * scale;
  const drawing = tile.getContext("2d");
  if (!drawing) return cause.fill;
  drawing.scale(scale, scale);
  drawing.fillStyle = cause.fill;
  drawing.fillRect(0, 0, TILE, TILE);
  drawing.strokeStyle = cause.ink;
  drawing.globalAlpha = 0.75;
  drawing.stroke(new Path2D(cause.pattern));
  return context.createPattern(tile, "repeat") ?? cause.fill;
}
