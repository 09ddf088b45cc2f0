// A ledger as stacked bands over time, each named where it is thick enough, the total as a line.

import type uPlot from "uplot";
import type { Colours } from "./colours.ts";
import type { Design, Line } from "./frame.ts";
import { nameBands } from "./names.ts";
import { signed } from "./numbers.ts";
import { pattern } from "./patterns.ts";
import type { Cause, Ledger, Reply } from "./reply.ts";
import { drawShades, turns } from "./shades.ts";
import { type Band, bands, extent } from "./stacking.ts";

const LEAST_SPAN_DEG = 4;
// Where the tumble is more than so many times all else, the chart is cut so that the rest can be seen.
const CUT_AT = 4;

export interface Account {
  id: string;
  title: string;
  total: string;
  height: number;
  ledger: Ledger;
  causes: Cause[];
  ghosts: Line[];
  /** What may run off the chart so that the rest can be read: a tumble, or any band beside the total. */
  cut: "tumble" | "bands";
}

function span(stack: Band[], lines: ArrayLike<number | null>[], from: number, to: number): [number, number] {
  const edges = stack.flatMap((band) => [band.upOut, band.downOut]);
  const [low, high] = extent([...edges, ...lines], from, to) ?? [0, 0];
  return [Math.min(0, low), Math.max(0, high)];
}

function fill(chart: uPlot, band: Band, inner: Float64Array, outer: Float64Array): void {
  const times = chart.data[0];
  const path = new Path2D();
  for (let row = 0; row < times.length; row += 1) {
    path.lineTo(chart.valToPos(times[row] ?? 0, "x", true), chart.valToPos(outer[row] ?? 0, "y", true));
  }
  for (let row = times.length - 1; row >= 0; row -= 1) {
    path.lineTo(chart.valToPos(times[row] ?? 0, "x", true), chart.valToPos(inner[row] ?? 0, "y", true));
  }
  chart.ctx.fillStyle = pattern(chart.ctx, band.cause, devicePixelRatio);
  chart.ctx.fill(path);
  chart.ctx.strokeStyle = band.cause.ink;
  chart.ctx.lineWidth = 0.5 * devicePixelRatio;
  chart.ctx.stroke(path);
}

function drawBands(chart: uPlot, stack: Band[], palette: Colours): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  for (const band of stack) {
    fill(chart, band, band.upIn, band.upOut);
    fill(chart, band, band.downIn, band.downOut);
  }
  nameBands(chart, stack);
  const zero = Math.round(chart.valToPos(0, "y", true));
  ctx.fillStyle = palette.ink;
  ctx.fillRect(bbox.left, zero - devicePixelRatio / 2, bbox.width, devicePixelRatio);
  ctx.restore();
}

export function account(reply: Reply, of: Account): Design {
  const rows = reply.time_s.length;
  const causes = of.causes.filter((cause) => cause.has_part);
  const stack = bands(of.ledger, causes, rows);
  const still = stack.filter((band) => band.cause.key !== "tumble_deg");
  const total = of.ledger["total_deg"] ?? [];
  const halo: Line = { values: total, colour: "paper", width: 6 };
  const line: Line = { values: total, colour: "total", width: 2.5 };
  const spans = turns(reply);
  const words = (row: number): string => {
    const parts = causes
      .filter((cause) => Math.abs(of.ledger[cause.key]?.[row] ?? 0) >= 0.05)
      .map((cause) => `${cause.name} ${signed(of.ledger[cause.key]?.[row])}`);
    return `${of.total} ${signed(total[row])}` + (parts.length ? `: ${parts.join(", ")}` : "");
  };
  return {
    id: of.id,
    title: of.title,
    key: [{ words: of.total, line }, ...of.ghosts.map((ghost) => ({ words: "the wrong idea", line: ghost }))],
    height: of.height,
    lines: [...of.ghosts, halo, line],
    range: (from, to) => {
      const lines = [total, ...of.ghosts.map((ghost) => ghost.values)];
      const all = span(stack, lines, from, to);
      const rest = of.cut === "tumble" ? span(still, [], from, to) : span([], lines, from, to);
      const least = Math.max(LEAST_SPAN_DEG, rest[1] - rest[0]);
      const room0 = of.cut === "tumble" ? least : 0.15 * least;
      const tooFar = of.cut === "bands" || (still.length < stack.length && all[1] - all[0] > CUT_AT * least);
      const [low, high] = tooFar ? [Math.max(all[0], rest[0] - room0), Math.min(all[1], rest[1] + room0)] : all;
      const room = Math.max((high - low) * 0.05, (LEAST_SPAN_DEG - (high - low)) / 2);
      return [low - room, high + room];
    },
    label: (value) => signed(value, Number.isInteger(value) ? 0 : 1) + "°",
    under: (chart, palette) => drawShades(chart, spans, reply.events, palette),
    between: (chart, palette) => drawBands(chart, stack, palette),
    words,
  };
}
