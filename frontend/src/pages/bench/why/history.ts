// The ledger over time since it was last set: stacked bands, the total as a line, settings as marks.

import { svg, type SVGTemplateResult } from "lit-html";
import { signed } from "../../../shared/numbers.ts";
import { FONT } from "../../../instrument/dials/face.ts";
import type { Look } from "../../../instrument/look.ts";
import type { Cause } from "../../../instrument/messages.ts";
import type { Recording, Row } from "../recording.ts";
import { LEAST_DEG, partOf, shape } from "../../../instrument/causes.ts";

const LEAST_SPAN_S = 60;
const LEAST_SPAN_DEG = 2;
const MOST_DRAWN = 240;
const LEFT = 44;
const BOTTOM = 20;

export interface Plot {
  width: number;
  height: number;
  look: Look;
  prefix: string;
}

interface Scale {
  x: (timeS: number) => number;
  y: (deg: number) => number;
}

function drawn(rows: Row[], fromS: number): Row[] {
  const first = Math.max(0, rows.findIndex((row) => row.time_s >= fromS));
  const recent = rows.slice(first);
  const step = Math.ceil(recent.length / MOST_DRAWN);
  return recent.filter((_, index) => index % step === 0 || index === recent.length - 1);
}

/** Bands on both sides of zero, from zero outwards. */
function stack(rows: Row[], causes: Cause[]): { cause: Cause; inner: number[][]; outer: number[][] }[] {
  const up = rows.map(() => 0);
  const down = rows.map(() => 0);
  return causes.map((cause) => {
    const inner = [[...up], [...down]];
    rows.forEach((row, index) => {
      const part = partOf(row.ledger, cause);
      if (part > 0) up[index] = (up[index] ?? 0) + part;
      else down[index] = (down[index] ?? 0) + part;
    });
    return { cause, inner, outer: [[...up], [...down]] };
  });
}

function band(rows: Row[], inner: number[], outer: number[], scale: Scale): string {
  const point = (row: Row, deg: number): string => `${scale.x(row.time_s).toFixed(1)} ${scale.y(deg).toFixed(1)}`;
  const there = rows.map((row, index) => point(row, outer[index] ?? 0));
  const back = rows.map((row, index) => point(row, inner[index] ?? 0)).reverse();
  return `M${[...there, ...back].join("L")}Z`;
}

/** Periods between settings; bands are not joined across a setting. */
function stretches(rows: Row[], settingsS: number[]): Row[][] {
  const parts: Row[][] = [];
  let open: Row[] = [];
  let before = -Infinity;
  for (const row of rows) {
    if (settingsS.some((setS) => setS > before && setS <= row.time_s) && open.length) {
      parts.push(open);
      open = [];
    }
    open.push(row);
    before = row.time_s;
  }
  return [...parts, open].filter((part) => part.length > 1);
}

function sinceWords(seconds: number): string {
  if (seconds >= 5400) return `${(seconds / 3600).toFixed(1)} h`;
  return seconds >= 90 ? `${(seconds / 60).toFixed(1)} min` : `${seconds.toFixed(0)} s`;
}

export function history(record: Recording, causes: Cause[], plot: Plot): SVGTemplateResult {
  const { width, height, look, prefix } = plot;
  const endS = record.rows.at(-1)?.time_s ?? 0;
  const setS = record.settings_s.at(-1) ?? 0;
  const fromS = Math.max(0, Math.min(setS, endS - LEAST_SPAN_S));
  const rows = drawn(record.rows, fromS);
  const shown = causes.filter((cause) => rows.some((row) => Math.abs(partOf(row.ledger, cause)) >= LEAST_DEG));
  const all = stack(rows, shown);
  const edges = all.flatMap((one) => one.outer.flat());
  const totals = rows.map((row) => row.ledger["total_deg"] ?? 0);
  const high = Math.max(LEAST_SPAN_DEG / 2, ...edges, ...totals) * 1.06;
  const low = Math.min(-LEAST_SPAN_DEG / 2, ...edges, ...totals) * 1.06;
  const spanS = Math.max(LEAST_SPAN_S, endS - fromS);
  const scale: Scale = {
    x: (timeS) => LEFT + ((timeS - fromS) / spanS) * (width - LEFT - 4),
    y: (deg) => 4 + ((high - deg) / (high - low)) * (height - BOTTOM - 8),
  };
  const parts = stretches(rows, record.settings_s);
  const bands = parts.flatMap((part) =>
    stack(part, shown).flatMap(({ cause, inner, outer }) =>
      [0, 1].map((side) => shape(prefix, cause, band(part, inner[side] ?? [], outer[side] ?? [], scale))),
    ),
  );
  const lines = parts.map(
    (part) => "M" + part.map((row) => `${scale.x(row.time_s).toFixed(1)} ${scale.y(row.ledger["total_deg"] ?? 0).toFixed(1)}`).join("L"),
  );
  const marks = record.settings_s.filter((one) => one >= fromS && one <= endS).map((one) => scale.x(one).toFixed(1));
  const label = (deg: number, dy: number): SVGTemplateResult => svg`<text x=${LEFT - 5} y=${scale.y(deg) + dy} font-size="13"
    text-anchor="end" fill=${look.soft}>${signed(deg, Math.abs(deg) < 10 ? 1 : 0)}</text>`;
  return svg`<g font-family=${FONT}>
    ${bands}
    ${lines.map((path) => svg`<path d=${path} stroke=${look.paper} stroke-width="5" fill="none"/><path d=${path}
      stroke=${look.ink} stroke-width="2.4" fill="none"/>`)}
    <path d=${`M${LEFT} ${scale.y(0)}H${width - 4}`} stroke=${look.ink} stroke-width="1"/>
    ${marks.map((x) => svg`<path d=${`M${x} 2V${height - BOTTOM}`} stroke=${look.setting} stroke-width="1.4"/><path
      d=${`M${x} 9l-5 -8h10z`} fill=${look.setting}/>`)}
    ${high > 1.2 ? label(high / 1.06, 8) : ""}${label(0, 4)}${low < -1.2 ? label(low / 1.06, 0) : ""}
    <text x=${LEFT} y=${height - 4} font-size="13" fill=${look.soft}>${fromS === setS ? "▾ set" : ""}</text>
    <text x=${width - 4} y=${height - 4} font-size="13" text-anchor="end" fill=${look.soft}>${
      `${sinceWords(endS - setS)} since it was set`
    }</text></g>`;
}
