// One chart over time: axes, the mark of the moment, pointer and keys. The design says what is drawn in it.

import uPlot from "uplot";
import { axes } from "./axes.ts";
import { caption } from "./caption.ts";
import { colours, type Colours } from "./colours.ts";
import type { Cursor } from "../cursor.ts";
import { pointing } from "../pointing.ts";
import type { Design } from "./design.ts";
import { extent } from "./stacking.ts";
import type { Stretch } from "../stretch.ts";

export interface Chart {
  show: (row: number) => void;
  stretch: (stretch: Stretch) => void;
  destroy: () => void;
}

function options(design: Design, width: number, palette: Colours, drawn: () => void): uPlot.Options {
  return {
    width,
    height: design.height,
    legend: { show: false },
    cursor: { show: false },
    padding: [8, 10, 0, 0],
    // Both scales are set together, from the period shown.
    scales: { x: { time: false, auto: false }, y: { auto: false, range: (_, low, high) => [low, high] } },
    axes: axes(design, palette),
    series: [
      {},
      ...design.lines.map((line) => ({
        stroke: palette[line.colour],
        width: line.width,
        points: { show: false },
        ...(line.dash ? { dash: line.dash } : {}),
      })),
    ],
    hooks: {
      drawClear: [(chart) => design.under(chart, palette)],
      drawAxes: [(chart) => design.between?.(chart, palette)],
      draw: [drawn],
    },
  };
}

/** The extent of some lines with a margin, with a minimum height. */
export function roomy(columns: ArrayLike<number | null>[], from: number, to: number, least: number): [number, number] {
  const [low, high] = extent(columns, from, to) ?? [0, 0];
  const room = Math.max((high - low) * 0.06, (least - (high - low)) / 2);
  return [low - room, high + room];
}

/** Appends one chart to the host. */
export function chart(host: HTMLElement, design: Design, times: number[], cursor: Cursor): Chart {
  const figure = document.createElement("figure");
  figure.className = "chart";
  figure.id = `chart-${design.id}`;
  figure.append(caption(design));
  const plot = document.createElement("div");
  plot.className = "plot";
  plot.tabIndex = 0;
  plot.setAttribute("role", "slider");
  plot.setAttribute("aria-label", `${design.title}: moment of the flight`);
  plot.setAttribute("aria-valuemin", "0");
  plot.setAttribute("aria-valuemax", String(Math.round(cursor.endS)));
  figure.append(plot);
  host.append(figure);

  const mark = document.createElement("div");
  mark.className = "mark";
  const cut = figure.querySelector(".cut") as HTMLElement;
  const numbers = figure.querySelector(".numbers") as HTMLElement;
  const data = [times, ...design.lines.map((line) => line.values)] as unknown as uPlot.AlignedData;
  const place = (): void => {
    const left = drawing.valToPos(cursor.timeS, "x");
    mark.hidden = !(left > -1 && left < drawing.over.clientWidth + 1);
    mark.style.transform = `translateX(${left}px)`;
  };
  const drawing = new uPlot(options(design, plot.clientWidth, colours(), () => place()), data, plot);
  drawing.over.append(mark);

  pointing(drawing.over, cursor, (event) => {
    const left = event.clientX - drawing.over.getBoundingClientRect().left;
    return cursor.nearest(drawing.posToVal(left, "x"));
  });
  plot.addEventListener("keydown", (event) => cursor.key(event));

  const show = (row: number): void => {
    place();
    numbers.textContent = design.words(row);
    plot.setAttribute("aria-valuenow", String(Math.round(cursor.timeS)));
    plot.setAttribute("aria-valuetext", design.words(row));
  };
  return {
    show,
    stretch: (stretch) => {
      const [min, max] = design.range(cursor.nearest(stretch.fromS), cursor.nearest(stretch.toS));
      cut.textContent = design.cutWords?.() ?? "";
      drawing.batch(() => {
        drawing.setScale("x", { min: stretch.fromS, max: stretch.toS });
        drawing.setScale("y", { min, max });
      });
    },
    destroy: () => {
      drawing.destroy();
      figure.remove();
    },
  };
}
