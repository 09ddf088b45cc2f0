// Indicated heading and reference heading, with the compass and the wrong idea.

import { drawn } from "./directions.ts";
import type { Design, Line } from "./design.ts";
import { roomy } from "./frame.ts";
import { heading, signed } from "../../../shared/numbers.ts";
import type { Reply } from "../reply.ts";
import { drawShades, turns } from "./shades.ts";

const STEPS_DEG = [1, 2, 5, 10, 20, 30, 45, 90, 180, 360];
const LEAST_SPAN_DEG = 20;

export function referenceName(reply: Reply): "true" | "magnetic" {
  return reply.asked.true_reference ? "true" : "magnetic";
}

export function referenceColumn(reply: Reply): (number | null)[] {
  return reply.asked.true_reference ? reply.trace.true_heading_deg : reply.trace.magnetic_heading_deg;
}

function splits(low: number, high: number, height: number): number[] {
  const step = STEPS_DEG.find((candidate) => (high - low) / candidate <= height / 30) ?? 360;
  const out: number[] = [];
  for (let value = Math.ceil(low / step) * step; value <= high; value += step) out.push(value);
  return out;
}

export function headings(reply: Reply, height: number): Design {
  const { trace } = reply;
  const name = referenceName(reply);
  const reference = referenceColumn(reply);
  const believed = reply.believed.map((idea) => idea.indicated_heading_deg);
  const { columns, unbroken } = drawn([reference, trace.indicated_heading_deg, trace.compass_deg, ...believed]);
  const [referenceDrawn = [], indicatedDrawn = [], compassDrawn = [], ...ghostsDrawn] = columns;
  const ghosts: Line[] = ghostsDrawn.map((values) => ({ values, colour: "ghost", width: 5 }));
  const compass: Line = { values: compassDrawn, colour: "compass", width: 1.25, dash: [2, 3] };
  const referenceLine: Line = { values: referenceDrawn, colour: "reference", width: 2, dash: [8, 4] };
  const indicated: Line = { values: indicatedDrawn, colour: "indicated", width: 2 };
  const spans = turns(reply);
  return {
    id: "heading",
    title: "Heading",
    key: [
      { words: "indicated", line: indicated },
      { words: name, line: referenceLine },
      { words: "compass", line: compass },
      ...ghosts.slice(0, 1).map((line) => ({ words: "the wrong idea", line })),
    ],
    height,
    lines: [...ghosts, compass, referenceLine, indicated],
    range: (from, to) =>
      unbroken ? roomy([referenceDrawn, indicatedDrawn, ...ghostsDrawn], from, to, LEAST_SPAN_DEG) : [0, 360],
    splits,
    label: (value) => heading(value) + "°",
    under: (chart, palette) => drawShades(chart, spans, reply.events, palette),
    words: (row) =>
      `indicated ${heading(trace.indicated_heading_deg[row])}, ${name} ${heading(reference[row])}, ` +
      `error ${signed(trace.heading_error_deg[row])}`,
  };
}
