// What a chart draws: its lines, its range, its words.

import type uPlot from "uplot";
import type { Colours } from "./colours.ts";

export interface Line {
  values: ArrayLike<number | null>;
  colour: keyof Colours;
  width: number;
  dash?: number[];
}

export interface Design {
  id: string;
  title: string;
  /** Shapes in the caption that say which line is which: words, colour, dash. */
  key: { words: string; line: Line }[];
  height: number;
  lines: Line[];
  /** Lowest and highest value to show for rows from..to. */
  range: (from: number, to: number) => [number, number];
  splits?: (low: number, high: number, height: number) => number[];
  label: (value: number) => string;
  under: (chart: uPlot, colours: Colours) => void;
  /** Between the axes and the lines. */
  between?: (chart: uPlot, colours: Colours) => void;
  words: (row: number) => string;
  /** What the stretch last given to `range` leaves off the chart, in words. */
  cutWords?: () => string;
}
