// The design of a chart: its lines, its range, its texts.

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
  /** Legend in the caption: words, colour, dash. */
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
  /** What is off the chart in the period last given to `range`, in words. */
  cutWords?: () => string;
}
