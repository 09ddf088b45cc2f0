// A small round gauge with one needle: suction, engine, rotor.

import { svg, type SVGTemplateResult } from "lit-html";
import { arc, at, every, fixed, strokes } from "../geometry.ts";
import { type Face, letter } from "./face.ts";
import { isCramped, legible } from "./legible.ts";

export const ROUND_BOX = "-62 -62 124 148";
export const TITLE_SIZE = 10;
const FROM_DEG = -130;
const SWEEP_DEG = 260;

export interface Gauge {
  title: string;
  unit: string;
  value: number | null;
  greatest: number;
  step: number;
  decimals: number;
  /** The part of the scale marked as the working range, if any. */
  good?: readonly [from: number, to: number] | undefined;
  /** The divisor of the numerals: 1000 for a tachometer. */
  per?: number;
  /** The readings of the ghosts, each with its letter. */
  ghosts?: readonly { value: number; letter: string }[];
}

export function roundDial(gauge: Gauge, face: Face): SVGTemplateResult {
  const { look } = face;
  const angle = (value: number): number =>
    FROM_DEG + (SWEEP_DEG * Math.max(0, Math.min(value, gauge.greatest * 1.03))) / gauge.greatest;
  const steps = every(1, gauge.greatest / gauge.step + 1).map((index) => index * gauge.step);
  const numerals = steps.map((value) => {
    const turn = angle(value);
    return svg`<text transform="rotate(${fixed(turn)}) translate(0 -33) rotate(${fixed(-turn)})" y="4.5" font-size=${legible(13, face.unit)}
      font-weight="600" text-anchor="middle" fill=${look.ink}>${value / (gauge.per ?? 1)}</text>`;
  });
  const needle = gauge.value === null ? "" : needleAt(angle(gauge.value), face);
  const text = gauge.value === null ? "–" : spaced(gauge.value, gauge.decimals);
  return svg`
    <circle r="56" fill=${look.raised} stroke=${look.edge} stroke-width="1.6"/>
    ${gauge.good ? svg`<path d=${arc(51, angle(gauge.good[0]), angle(gauge.good[1]))} stroke=${look.good} stroke-width="6" fill="none"/>` : ""}
    <path d=${strokes(steps.map(angle), 44, 54)} stroke=${look.ink} stroke-width="2"/>
    ${numerals}
    ${(gauge.ghosts ?? []).map((one) => ghostAt(angle(one.value), one.letter, face))}
    ${needle}
    ${titled(gauge.title, face)}
    <text y="80" font-size=${legible(18, face.unit)} font-weight="700" text-anchor="middle" fill=${look.ink}>${face.numbers ? text : ""}<tspan
      font-size=${legible(12, face.unit)} font-weight="400" fill=${look.soft}> ${gauge.unit}</tspan></text>`;
}

/** The title on the dial: left to a caption where it would be too long, or its first word where there is none. */
function titled(title: string, face: Face): SVGTemplateResult | string {
  const isLong = isCramped(TITLE_SIZE, face.unit);
  if (isLong && !face.names) return "";
  const words = isLong ? title.split(" ")[0] : title;
  return svg`<text y="42" font-size=${legible(TITLE_SIZE, face.unit)} text-anchor="middle" fill=${face.look.soft}>${words}</text>`;
}

function needleAt(angleDeg: number, face: Face): SVGTemplateResult {
  return svg`<g transform="rotate(${fixed(angleDeg)})"><path d="M-2.6 10L-1.2 -46H1.2L2.6 10Z"
    fill=${face.look.ink}/><circle r="4.5" fill=${face.look.ink}/></g>`;
}

function ghostAt(angleDeg: number, text: string, face: Face): SVGTemplateResult {
  const [x, y] = at(50, angleDeg);
  return svg`<g transform="rotate(${fixed(angleDeg)})"><path d="M0 -8V-42" stroke=${face.look.ghost} stroke-width="3"
    stroke-dasharray="5 3"/></g>${letter(x, y, text, face, 7)}`;
}

/** Thousands apart by a thin space. */
export function spaced(value: number, decimals: number): string {
  return value.toFixed(decimals).replace(/\B(?=(\d{3})+(?!\d))/g, "\u2009");
}
