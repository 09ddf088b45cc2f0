// Names written into the bands, each where its band is thick enough for the whole of it.

import type uPlot from "uplot";
import type { Band } from "./stacking.ts";

const FONT_PX = 12.5;

// A name may stand out of its band by this much of its height: it is written on the band's own colour.
const LEAST_SHARE = 0.7;

interface Place {
  x: number;
  y: number;
  thickness: number;
}

type Taken = { x: number; y: number; width: number }[];

/** Where the band is thickest for the middle of a name of that width, clear of the names already written. */
function place(chart: uPlot, inner: Float64Array, outer: Float64Array, width: number, taken: Taken): Place | null {
  const times = chart.data[0];
  const { left, top, width: across, height } = chart.bbox;
  const step = 8 * devicePixelRatio;
  const edges: [number, number][] = [];
  for (let x = left; x <= left + across; x += step) {
    const row = chart.valToIdx(chart.posToVal((x - left) / devicePixelRatio, "x"));
    if (times[row] === undefined) return null;
    const a = chart.valToPos(inner[row] ?? 0, "y", true);
    const b = chart.valToPos(outer[row] ?? 0, "y", true);
    edges.push([Math.max(top, Math.min(a, b)), Math.min(top + height, Math.max(a, b))]);
  }
  const reach = Math.ceil(width / step / 4);
  const margin = Math.ceil(width / step / 2);
  const size = FONT_PX * devicePixelRatio;
  let best: Place | null = null;
  for (let at = margin; at < edges.length - margin; at += 1) {
    let upper = -Infinity;
    let lower = Infinity;
    for (let beside = at - reach; beside <= at + reach; beside += 1) {
      const edge = edges[beside];
      if (!edge) continue;
      upper = Math.max(upper, edge[0]);
      lower = Math.min(lower, edge[1]);
    }
    const x = left + at * step;
    const y = (upper + lower) / 2;
    const covers = taken.some(
      (other) => Math.abs(other.x - x) < (other.width + width) / 2 && Math.abs(other.y - y) < 1.3 * size,
    );
    if (!covers && (!best || lower - upper > best.thickness)) best = { x, y, thickness: lower - upper };
  }
  return best;
}

export function nameBands(chart: uPlot, stack: Band[]): void {
  const { ctx } = chart;
  const size = FONT_PX * devicePixelRatio;
  ctx.save();
  ctx.font = `600 ${size}px system-ui, sans-serif`;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  const taken: Taken = [];
  for (const band of stack) {
    const width = ctx.measureText(band.cause.name).width + size;
    const places = [
      place(chart, band.upIn, band.upOut, width, taken),
      place(chart, band.downIn, band.downOut, width, taken),
    ];
    const best = places.reduce((a, b) => ((b?.thickness ?? 0) > (a?.thickness ?? 0) ? b : a));
    if (!best || best.thickness < size * LEAST_SHARE) continue;
    taken.push({ x: best.x, y: best.y, width });
    ctx.fillStyle = band.cause.fill;
    ctx.fillRect(best.x - width / 2 + size * 0.2, best.y - size * 0.58, width - size * 0.4, size * 1.16);
    ctx.fillStyle = band.cause.ink;
    ctx.fillText(band.cause.name, best.x, best.y + size * 0.04);
  }
  ctx.restore();
}
