// Names in the bands, each where its band is thick enough for it.

import type uPlot from "uplot";
import type { Column } from "../reply.ts";
import type { Band } from "./stacking.ts";

const FONT_PX = 12.5;

// A name may extend beyond its band by this share of its height: it has the band's colour behind it.
const LEAST_SHARE = 0.7;

interface Place {
  x: number;
  y: number;
  thickness: number;
}

type Taken = { x: number; y: number; width: number }[];

/** Row by row of sample positions: the band's upper and lower edge and the line of the total, in canvas pixels. */
interface Edge {
  upper: number;
  lower: number;
  total: number;
}

function edges(chart: uPlot, inner: Float64Array, outer: Float64Array, total: Column, step: number): Edge[] {
  const { left, top, width, height } = chart.bbox;
  const out: Edge[] = [];
  for (let x = left; x <= left + width; x += step) {
    const row = chart.valToIdx(chart.posToVal((x - left) / devicePixelRatio, "x"));
    const a = chart.valToPos(inner[row] ?? 0, "y", true);
    const b = chart.valToPos(outer[row] ?? 0, "y", true);
    out.push({
      upper: Math.max(top, Math.min(a, b)),
      lower: Math.min(top + height, Math.max(a, b)),
      total: chart.valToPos(total[row] ?? 0, "y", true),
    });
  }
  return out;
}

/** The thickest place of the band for the centre of a name, clear of the total's line and other names. */
function place(chart: uPlot, all: Edge[], step: number, width: number, taken: Taken): Place | null {
  const size = FONT_PX * devicePixelRatio;
  const reach = Math.ceil(width / step / 4);
  const margin = Math.ceil(width / step / 2);
  let best: Place | null = null;
  for (let at = margin; at < all.length - margin; at += 1) {
    const middle = all.slice(at - reach, at + reach + 1);
    const upper = middle.reduce((most, edge) => Math.max(most, edge.upper), -Infinity);
    const lower = middle.reduce((least, edge) => Math.min(least, edge.lower), Infinity);
    const x = chart.bbox.left + at * step;
    const y = (upper + lower) / 2;
    if (best && lower - upper <= best.thickness) continue;
    const crossed = all.slice(at - margin, at + margin + 1).some((edge) => Math.abs(edge.total - y) < 0.9 * size);
    const covers = taken.some(
      (other) => Math.abs(other.x - x) < (other.width + width) / 2 && Math.abs(other.y - y) < 1.3 * size,
    );
    if (!crossed && !covers) best = { x, y, thickness: lower - upper };
  }
  return best;
}

export function nameBands(chart: uPlot, stack: Band[], total: Column): void {
  const { ctx } = chart;
  const size = FONT_PX * devicePixelRatio;
  ctx.save();
  ctx.font = `600 ${size}px system-ui, sans-serif`;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  const taken: Taken = [];
  const step = 8 * devicePixelRatio;
  for (const band of stack) {
    const width = ctx.measureText(band.cause.name).width + size;
    const places = [
      place(chart, edges(chart, band.upIn, band.upOut, total, step), step, width, taken),
      place(chart, edges(chart, band.downIn, band.downOut, total, step), step, width, taken),
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
