// The axes of every chart: minutes at the bottom, the design's labels on the left.

import type uPlot from "uplot";
import type { Colours } from "./colours.ts";
import type { Design } from "./design.ts";

const STEPS_S = [10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400];

function minutes(_: uPlot, values: number[]): string[] {
  const tenths = values.some((value) => value % 60 !== 0);
  return values.map((value, at) => (value / 60).toFixed(tenths ? 1 : 0) + (at === 0 ? " min" : ""));
}

export function axes(design: Design, palette: Colours): uPlot.Axis[] {
  const grid = { stroke: palette.line, width: 1 };
  const font = "13px system-ui, sans-serif";
  const common = { stroke: palette.soft, font, grid, ticks: { ...grid, size: 4 } };
  const upright: uPlot.Axis = { ...common, size: 52, values: (_, values) => values.map(design.label) };
  const splits = design.splits;
  if (splits) upright.splits = (chart, _, low, high) => splits(low, high, chart.height);
  return [{ ...common, size: 28, incrs: STEPS_S, space: 64, values: minutes }, upright];
}
