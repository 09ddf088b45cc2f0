// A ledger as stacked bands over time, named where thick enough, with the total as a line.

import type uPlot from "uplot";
import type { Colours } from "./colours.ts";
import type { Design, Line } from "./design.ts";
import { nameBands } from "./names.ts";
import { signed } from "../../../shared/numbers.ts";
import { pattern } from "./patterns.ts";
import type { Cause, Column, Ledger, Reply } from "../reply.ts";
import { drawShades, turns } from "./shades.ts";
import { type Band, bands, extent } from "./stacking.ts";

const LEAST_SPAN_DEG = 4;
// Where the tumble is this many times all else, the chart is cut so that the rest is visible.
const CUT_AT = 4;
// Beyond half a turn the card may be anywhere; the number of turns adds no information.
const FARTHEST_DEG = 180;

export interface Account {
  id: string;
  title: string;
  total: string;
  height: number;
  ledger: Ledger;
  causes: Cause[];
  ghosts: Line[];
  /** What may run off the chart so that the rest is readable: a tumble, or any band except the total. */
  cut: "tumble" | "bands";
}

type Span = [low: number, high: number];

function span(stack: Band[], lines: ArrayLike<number | null>[], from: number, to: number): Span {
  const edges = stack.flatMap((band) => [band.upOut, band.downOut]);
  const [low, high] = extent([...edges, ...lines], from, to) ?? [0, 0];
  return [Math.min(0, low), Math.max(0, high)];
}

/** The visible range: cut where a tumble, or bands other than the total, would hide all else. */
function limited(all: Span, still: Span, lines: Span, by: Account["cut"]): Span {
  const kept = by === "bands" ? lines : still;
  const size = Math.max(LEAST_SPAN_DEG, kept[1] - kept[0]);
  const spare = by === "bands" ? 0.15 * size : size;
  const cut = by === "bands" || all[1] - all[0] > CUT_AT * size;
  const [low, high] = cut ? [Math.max(all[0], kept[0] - spare), Math.min(all[1], kept[1] + spare)] : all;
  return [Math.max(low, -FARTHEST_DEG), Math.min(high, FARTHEST_DEG)];
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

function drawBands(chart: uPlot, stack: Band[], total: Column, palette: Colours): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  for (const band of stack) {
    fill(chart, band, band.upIn, band.upOut);
    fill(chart, band, band.downIn, band.downOut);
  }
  nameBands(chart, stack, total);
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
  const lines = [total, ...of.ghosts.map((ghost) => ghost.values)];
  const spans = turns(reply);
  let cut = false;
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
      const wanted = span(stack, lines, from, to);
      const shown = limited(wanted, span(still, [], from, to), span([], lines, from, to), of.cut);
      cut = shown[0] > wanted[0] || shown[1] < wanted[1];
      const room = Math.max((shown[1] - shown[0]) * 0.05, (LEAST_SPAN_DEG - (shown[1] - shown[0])) / 2);
      return [shown[0] - room, shown[1] + room];
    },
    cutWords: () => (cut ? "partly off the chart" : ""),
    label: (value) => signed(value, Number.isInteger(value) ? 0 : 1) + "°",
    under: (chart, palette) => drawShades(chart, spans, reply.events, palette),
    between: (chart, palette) => drawBands(chart, stack, total, palette),
    words,
  };
}
