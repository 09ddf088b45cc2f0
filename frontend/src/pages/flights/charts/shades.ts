// The background of every chart: turns as shading, settings and other events as vertical lines.

import type uPlot from "uplot";
import type { Colours } from "./colours.ts";
import type { FlightEvent, Reply } from "../reply.ts";

const TURN_DEG = 5;
// Turbulence banks the aircraft too, but only for moments.
const LEAST_TURN_S = 8;

export interface Span {
  fromS: number;
  toS: number;
}

/** Parts of the flight banked more than five degrees for longer than a gust. */
export function turns(reply: Reply): Span[] {
  const spans: Span[] = [];
  let open: Span | null = null;
  reply.trace.bank_deg.forEach((bank, row) => {
    const timeS = reply.time_s[row] ?? 0;
    const turning = bank !== null && Math.abs(bank) > TURN_DEG;
    if (turning && open) open.toS = timeS;
    else if (turning) open = { fromS: timeS, toS: timeS };
    else if (open) {
      spans.push(open);
      open = null;
    }
  });
  if (open) spans.push(open);
  return spans.filter((span) => span.toS - span.fromS >= LEAST_TURN_S);
}

export function drawShades(chart: uPlot, spans: Span[], events: FlightEvent[], colours: Colours): void {
  const { ctx, bbox } = chart;
  const ratio = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.fillStyle = colours.turn;
  for (const span of spans) {
    const left = chart.valToPos(span.fromS, "x", true);
    const right = chart.valToPos(span.toS, "x", true);
    ctx.fillRect(left, bbox.top, Math.max(ratio, right - left), bbox.height);
  }
  ctx.restore();
  for (const event of events) drawEvent(chart, event, colours);
}

function drawEvent(chart: uPlot, event: FlightEvent, colours: Colours): void {
  const { ctx, bbox } = chart;
  const ratio = devicePixelRatio;
  const x = chart.valToPos(event.time_s, "x", true);
  if (x < bbox.left - 1 || x > bbox.left + bbox.width + 1) return;
  ctx.save();
  ctx.strokeStyle = colours.setting;
  ctx.fillStyle = colours.setting;
  ctx.lineWidth = ratio;
  ctx.setLineDash(event.sets ? [] : [4 * ratio, 3 * ratio]);
  ctx.beginPath();
  ctx.moveTo(x, bbox.top);
  ctx.lineTo(x, bbox.top + bbox.height);
  ctx.stroke();
  if (event.sets) {
    ctx.beginPath();
    ctx.moveTo(x, bbox.top + 7 * ratio);
    ctx.lineTo(x - 4.5 * ratio, bbox.top - ratio);
    ctx.lineTo(x + 4.5 * ratio, bbox.top - ratio);
    ctx.fill();
  }
  ctx.restore();
}
