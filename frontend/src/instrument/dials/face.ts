// What every dial is given besides its frame, and the reading under it.

import { svg, type SVGTemplateResult } from "lit-html";
import type { Look } from "../look.ts";
import { legible } from "./legible.ts";

export interface Face {
  look: Look;
  /** Letters of the wrong ideas that are switched on, by id. */
  letters: ReadonlyMap<string, string>;
  /** Their short names instead of letters, beside the dial: for a class, whose options have letters. */
  names?: ReadonlyMap<string, string>;
  /** Numbers under the dials; without them a class has to read the dial. */
  numbers: boolean;
  /** How many of the drawing's units a CSS pixel has, where letters have to stay legible. */
  unit?: number;
}

export type Point = readonly [x: number, y: number];

export const NUMERALS: readonly (readonly [deg: number, text: string])[] = [
  [0, "N"],
  [30, "3"],
  [60, "6"],
  [90, "E"],
  [120, "12"],
  [150, "15"],
  [180, "S"],
  [210, "21"],
  [240, "24"],
  [270, "W"],
  [300, "30"],
  [330, "33"],
];

export const FONT = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'Liberation Sans', sans-serif";

/** A ghost's letter in a ring, so that it does not depend on colour. */
export function letter(x: number, y: number, text: string, { look, unit }: Face, least = 9): SVGTemplateResult | string {
  if (!text) return "";
  const size = legible(least * 1.2, unit) / 1.2;
  return svg`<g transform="translate(${x.toFixed(2)} ${y.toFixed(2)})">
    <circle r=${size} fill=${look.paper} stroke=${look.ghost} stroke-width="1.6" stroke-dasharray="3 2"/>
    <text y=${size * 0.42} font-size=${size * 1.2} font-weight="700" text-anchor="middle"
      fill=${look.ink}>${text}</text></g>`;
}

/** Two lines under a dial: the reading, large, and its error. */
export function reading(y: number, main: string, small: string, face: Face): SVGTemplateResult | string {
  if (!face.numbers) return "";
  const size = legible(13, face.unit);
  return svg`<text y=${y} font-size="24" font-weight="700" text-anchor="middle" fill=${face.look.ink}>${main}</text>
    <text y=${y + Math.max(17, 1.05 * size)} font-size=${size} text-anchor="middle" fill=${face.look.soft}>${small}</text>`;
}

/** A ghost's short name beside a dial, with a line from its needle. */
export function named(text: string, from: Point, to: Point, anchor: "start" | "middle" | "end", look: Look, size: number): SVGTemplateResult {
  return svg`<path d=${`M${from[0].toFixed(1)} ${from[1].toFixed(1)}L${to[0].toFixed(1)} ${to[1].toFixed(1)}`} stroke=${look.ghost} stroke-width="1.6"/>
    <text x=${to[0].toFixed(1)} y=${(to[1] + size * 0.36).toFixed(1)} dx=${anchor === "start" ? 3 : anchor === "end" ? -3 : 0} text-anchor=${anchor} font-size=${size} font-weight="650"
      fill=${look.ink} stroke=${look.paper} stroke-width="3" paint-order="stroke">${text}</text>`;
}
