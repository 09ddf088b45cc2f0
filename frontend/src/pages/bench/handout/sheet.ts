// One moment as a picture for paper: true, shown and why in one drawing, a pure function of a frame.

import { svg, type SVGTemplateResult } from "lit-html";
import { clock, heading, latitude, signed } from "../../../shared/numbers.ts";
import { compassDial } from "../../../instrument/dials/compass.ts";
import { FONT, type Face } from "../../../instrument/dials/face.ts";
import { headingDial } from "../../../instrument/dials/heading.ts";
import { suctionDial } from "../../../instrument/dials/suction.ts";
import { rotorDial } from "../../../instrument/dials/tachometer.ts";
import type { Cause, Frame, Idea } from "../../../instrument/messages.ts";
import { above, aboveNumbers } from "../../../instrument/true/above.ts";
import { attitude } from "../true/attitude.ts";
import { halfScaleDeg, hasPart, partOf, patterns, shape } from "../../../instrument/causes.ts";

export interface Sheet {
  face: Face;
  causes: Cause[];
  ideas: Idea[];
}

export const SHEET_SIZE = { width: 960, height: 540 } as const;
export const STRIP_SIZE = { width: 1122, height: 794 } as const;
const CAUTION = "For teaching only; not for navigation or airworthiness decisions.";

/** The ledger as bars with names and values, from the top left corner. */
function ledger(frame: Frame, sheet: Sheet, width: number, rowHeight: number, most: number): SVGTemplateResult {
  const { look } = sheet.face;
  const parts = sheet.causes
    .filter((cause) => hasPart(frame, cause))
    .sort((a, b) => Math.abs(partOf(frame.ledger, b)) - Math.abs(partOf(frame.ledger, a)))
    .slice(0, most);
  const half = halfScaleDeg(frame, parts);
  const nameWidth = width * 0.42;
  const zero = nameWidth + (width - nameWidth - 50) / 2;
  const reach = (width - nameWidth - 50) / 2;
  const size = Math.min(15, rowHeight * 0.62);
  const row = (index: number, name: string, value: number, fill: (path: string) => unknown, weight: number): SVGTemplateResult => {
    const end = (Math.max(-1, Math.min(1, value / half)) * reach).toFixed(1);
    return svg`<g transform="translate(0 ${index * rowHeight})">
      <text x=${nameWidth - 6} y=${rowHeight * 0.68} font-size=${size} font-weight=${weight} text-anchor="end" fill=${look.ink}>${name}</text>
      <g transform="translate(${zero.toFixed(1)} 0)">${fill(`M0 ${rowHeight * 0.15}h${end}v${rowHeight * 0.7}h${-Number(end)}z`)}</g>
      <text x=${width} y=${rowHeight * 0.68} font-size=${size} font-weight=${weight} text-anchor="end" fill=${look.ink}>${signed(value)}°</text></g>`;
  };
  const total = frame.ledger["total_deg"] ?? 0;
  return svg`${parts.map((cause, index) => row(index, cause.name, partOf(frame.ledger, cause), (path) => shape("sheet", cause, path), 400))}
    ${row(parts.length, "total", total, (path) => svg`<path d=${path} fill=${look.ink}/>`, 700)}
    <path d=${`M${zero.toFixed(1)} 0V${(parts.length + 1) * rowHeight}`} stroke=${look.ink} stroke-width="1"/>`;
}

/** True values and position, in words. */
function facts(frame: Frame, of: Sheet): string[] {
  const { truth } = frame;
  return [
    ...aboveNumbers(frame).map(([term, words]) => `${term} ${words}`),
    `latitude ${latitude(truth.latitude_deg, 1)}`,
    `dip ${signed(truth.dip_deg, 0)}°`,
  ].slice(0, of.face.numbers ? 10 : 0);
}

function ghosts(frame: Frame, sheet: Sheet, y: number): SVGTemplateResult[] {
  return frame.ghosts.map((ghost, index) => {
    const idea = sheet.ideas.find((one) => one.id === ghost.id);
    return svg`<text x="24" y=${y + index * 18} font-size="13" fill=${sheet.face.look.ink}>${
      `${sheet.face.letters.get(ghost.id) ?? ""}  “${idea?.statement ?? ghost.id}” expects ${heading(ghost.indicated_deg)}`
    }</text>`;
  });
}

export function sheet(frame: Frame, of: Sheet): SVGTemplateResult {
  const { look } = of.face;
  const { width, height } = SHEET_SIZE;
  const title = (x: number, words: string): SVGTemplateResult =>
    svg`<text x=${x} y="62" font-size="18" font-weight="700" fill=${look.ink}>${words}</text>`;
  return svg`<g font-family=${FONT}><defs>${patterns("sheet", of.causes)}</defs>
    <rect width=${width} height=${height} fill=${look.paper}/>
    <text x="24" y="32" font-size="15" fill=${look.soft}>${`${clock(frame.time_s)} since the start; indicated ${heading(frame.shown.indicated_deg)}, error ${signed(frame.shown.error_deg)}°`}</text>
    ${title(24, "True")}${title(314, "Shown")}${title(614, "Why")}
    <g transform="translate(150 200) scale(0.92)">${above(frame, look)}</g>
    <g transform="translate(150 385)">${attitude(frame, look)}</g>
    <text x="150" y="456" font-size="12" text-anchor="middle" fill=${look.soft}>true attitude (not an instrument)</text>
    <g transform="translate(440 190)">${headingDial(frame, of.face)}</g>
    <g transform="translate(376 405) scale(0.58)">${compassDial(frame, of.face)}</g>
    <g transform="translate(484 400) scale(0.62)">${suctionDial(frame, of.face)}</g>
    <g transform="translate(556 400) scale(0.55)">${rotorDial(frame, of.face)}</g>
    <g transform="translate(614 80)">${ledger(frame, of, 322, 27, 11)}</g>
    ${facts(frame, of).map(
      (words, index) => svg`<text x=${614 + 160 * (index % 2)} y=${440 + 18 * Math.floor(index / 2)} font-size="13" fill=${look.ink}>${words}</text>`,
    )}
    ${ghosts(frame, of, 486)}
    <text x=${width - 24} y=${height - 12} font-size="11" text-anchor="end" fill=${look.soft}>${CAUTION}</text></g>`;
}

/** Six moments on one sheet, in two rows of three; A4 landscape at 96 points per inch. */
export function strip(frames: Frame[], of: Sheet): SVGTemplateResult {
  const { look } = of.face;
  const { width, height } = STRIP_SIZE;
  const cell = (frame: Frame, index: number): SVGTemplateResult => {
    const x = 20 + (index % 3) * 362;
    const y = 40 + Math.floor(index / 3) * 366;
    return svg`<g transform="translate(${x} ${y})"><rect width="352" height="356" fill="none" stroke=${look.line}/>
      <text x="12" y="24" font-size="17" font-weight="700" fill=${look.ink}>${index + 1}<tspan dx="12" font-weight="400">${clock(frame.time_s)}</tspan></text>
      <g transform="translate(108 134) scale(0.8)">${headingDial(frame, of.face)}</g>
      <g transform="translate(272 84) scale(0.58)">${above(frame, look)}</g>
      <g transform="translate(272 196) scale(0.6)">${attitude(frame, look)}</g>
      <g transform="translate(10 262)">${ledger(frame, of, 330, 17.5, 4)}</g></g>`;
  };
  return svg`<g font-family=${FONT}><defs>${patterns("sheet", of.causes)}</defs>
    <rect width=${width} height=${height} fill=${look.paper}/>
    <text x="20" y="26" font-size="14" fill=${look.soft}>Six moments of the heading indicator: shown, true, and the error by cause, in degrees</text>
    ${frames.slice(0, 6).map(cell)}
    <text x=${width - 20} y=${height - 6} font-size="10" text-anchor="end" fill=${look.soft}>${CAUTION}</text></g>`;
}
