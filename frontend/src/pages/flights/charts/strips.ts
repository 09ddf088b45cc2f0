// The drive in two small strips: suction (gauge and instrument) and the rotor.

import type { Design, Line } from "./design.ts";
import { roomy } from "./frame.ts";
import { plain } from "../../../shared/numbers.ts";
import type { Column, Reply } from "../reply.ts";
import { drawShades, turns } from "./shades.ts";

function known(column: Column): boolean {
  return column.some((value) => value !== null);
}

export function strips(reply: Reply, height: number): Design[] {
  const { trace } = reply;
  const spans = turns(reply);
  const under: Design["under"] = (chart, palette) => drawShades(chart, spans, reply.events, palette);
  const gauge: Line = { values: trace.gauge_inhg, colour: "indicated", width: 2 };
  const got: Line = { values: trace.instrument_suction_inhg, colour: "reference", width: 2, dash: [8, 4] };
  const rotor: Line = { values: trace.rotor_rpm, colour: "indicated", width: 2 };
  const fromZero = (lines: Line[], least: number) => (from: number, to: number): [number, number] => [
    0,
    Math.max(least, roomy(lines.map((line) => line.values), from, to, 0)[1]),
  ];
  const suction: Design = {
    id: "suction",
    title: "Suction, inHg",
    key: [
      { words: "on the gauge", line: gauge },
      { words: "at the instrument", line: got },
    ],
    height,
    lines: [got, gauge],
    range: fromZero([gauge, got], 6),
    label: (value) => plain(value),
    under,
    words: (row) =>
      `gauge ${plain(trace.gauge_inhg[row], 1)}, at the instrument ${plain(trace.instrument_suction_inhg[row], 1)}`,
  };
  const rotorStrip: Design = {
    id: "rotor",
    title: "Rotor, rpm",
    key: [],
    height,
    lines: [rotor],
    range: fromZero([rotor], 12000),
    label: (value) => (value === 0 ? "0" : `${plain(value / 1000)} 000`),
    under,
    words: (row) => `${plain(trace.rotor_rpm[row])} rpm`,
  };
  return [
    ...(known(trace.gauge_inhg) || known(trace.instrument_suction_inhg) ? [suction] : []),
    ...(known(trace.rotor_rpm) ? [rotorStrip] : []),
  ];
}
