// The drive in two small strips: suction (gauge and instrument) and the rotor.

import type { Design, Line } from "./design.ts";
import { roomy } from "./frame.ts";
import { plain } from "../../../shared/numbers.ts";
import { suctionDecimals, suctionIn, suctionUnit } from "../../../shared/suction.ts";
import type { Column, Reply } from "../reply.ts";
import { drawShades, turns } from "./shades.ts";

function known(column: Column): boolean {
  return column.some((value) => value !== null);
}

export function strips(reply: Reply, height: number): Design[] {
  const { trace } = reply;
  const spans = turns(reply);
  const under: Design["under"] = (chart, palette) => drawShades(chart, spans, reply.events, palette);
  const inUnit = (column: Column): Column => column.map((value) => (value === null ? null : suctionIn(value)));
  const [onGauge, inside] = [inUnit(trace.gauge_inhg), inUnit(trace.instrument_suction_inhg)];
  const gauge: Line = { values: onGauge, colour: "indicated", width: 2 };
  const got: Line = { values: inside, colour: "reference", width: 2, dash: [8, 4] };
  const rotor: Line = { values: trace.rotor_rpm, colour: "indicated", width: 2 };
  const fromZero = (lines: Line[], least: number) => (from: number, to: number): [number, number] => [
    0,
    Math.max(least, roomy(lines.map((line) => line.values), from, to, 0)[1]),
  ];
  const suction: Design = {
    id: "suction",
    title: `Suction, ${suctionUnit()}`,
    key: [
      { words: "on the gauge", line: gauge },
      { words: "at the instrument", line: got },
    ],
    height,
    lines: [got, gauge],
    range: fromZero([gauge, got], suctionIn(6)),
    label: (value) => plain(value),
    under,
    words: (row) =>
      `gauge ${plain(onGauge[row], suctionDecimals())}, at the instrument ${plain(inside[row], suctionDecimals())}`,
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
