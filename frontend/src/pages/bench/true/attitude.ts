// A picture of the true attitude, from behind and from the side. Not an instrument, and not drawn like one.

import { svg, type SVGTemplateResult } from "lit-html";
import { signed } from "../../../shared/numbers.ts";
import { FONT } from "../../../instrument/dials/face.ts";
import { fixed } from "../../../instrument/geometry.ts";
import type { Look } from "../../../instrument/look.ts";
import type { Frame } from "../../../instrument/messages.ts";

export const ATTITUDE_BOX = "-126 -46 252 80";
const BEHIND = "M-50 3H50M0 -4V-26M-16 -12H16M-9 0A9 9 0 1 0 9 0A9 9 0 1 0 -9 0";
const BESIDE = "M-36 -3L30 -6Q42 -4 44 2Q36 8 22 8H-8L-36 -3L-42 -18H-34L-28 -4M-12 2H16";

export function attitudeWords(frame: Frame): string {
  const { bank_deg, pitch_deg } = frame.truth;
  const wing = Math.abs(bank_deg) < 0.5 ? "wings level" : `${bank_deg > 0 ? "right" : "left"} wing down ${Math.abs(bank_deg).toFixed(0)} degrees`;
  return `True attitude (not an instrument): ${wing}, nose ${signed(pitch_deg, 0)} degrees`;
}

export function attitude(frame: Frame, look: Look): SVGTemplateResult {
  const { bank_deg, pitch_deg } = frame.truth;
  const half = (x: number, path: string, turnDeg: number): SVGTemplateResult => svg`
    <g transform="translate(${x} 0)">
      <path d="M-56 4H56" stroke=${look.edge} stroke-width="1.6"/>
      <path d="M-52 10L-56 15M-36 10L-40 15M-20 10L-24 15M-4 10L-8 15M12 10L8 15M28 10L24 15M44 10L40 15"
        stroke=${look.line} stroke-width="1.6"/>
      <g transform="rotate(${fixed(turnDeg)})"><path d=${path} stroke=${look.ink} stroke-width="4" stroke-linecap="round"
        stroke-linejoin="round" fill="none"/></g></g>`;
  return svg`<g font-family=${FONT}>${half(-66, BEHIND, bank_deg)}
    ${half(66, BESIDE, -pitch_deg)}</g>`;
}
