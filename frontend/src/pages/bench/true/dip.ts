// The Earth's field from the side: its dip and its horizontal part.

import { svg, type SVGTemplateResult } from "lit-html";
import { FONT } from "../../../instrument/dials/face.ts";
import { isCramped, legible } from "../../../instrument/dials/legible.ts";
import { arc, arrow, fixed } from "../../../instrument/geometry.ts";
import type { Look } from "../../../instrument/look.ts";
import type { Frame } from "../../../instrument/messages.ts";

export const DIP_BOX = "-64 -30 128 96";

export function dipWords(frame: Frame): string {
  const { truth } = frame;
  const way = truth.dip_deg < 0 ? "up" : "down";
  const zone = truth.zone ? `; ${truth.zone}` : "";
  return `The field dips ${Math.abs(truth.dip_deg).toFixed(0)} degrees ${way}; horizontal field ${(truth.horizontal_nt / 1000).toFixed(1)} microtesla${zone}`;
}

export function dipCaption(frame: Frame): string {
  const { dip_deg, horizontal_nt, zone } = frame.truth;
  const way = dip_deg < 0 ? "up" : "down";
  const unusable = zone ? `; ${zone}` : "";
  return `Dip ${Math.abs(dip_deg).toFixed(0)}° ${way}; horizontal ${(horizontal_nt / 1000).toFixed(1)}\u00a0µT${unusable}`;
}

export function dip(frame: Frame, look: Look, unit = 0): SVGTemplateResult {
  const { dip_deg } = frame.truth;
  // North is to the right; 90 degrees from the top is horizontal.
  const along = 90 + dip_deg;
  const up = dip_deg < 0;
  const middle = 90 + dip_deg / 2;
  return svg`<g font-family=${FONT}><g transform="translate(-40 ${up ? 40 : -10})">
    <path d="M-14 0H96" stroke=${look.edge} stroke-width="1.6"/>
    ${isCramped(11, unit) ? "" : svg`<text x="98" y=${up ? 15 : -6} font-size=${legible(11, unit)} text-anchor="end" fill=${look.soft}>north, horizontal</text>`}
    <path d=${arrow(0, 64, along, 10)} stroke=${look.compass} stroke-width="3.4" fill="none"/>
    <path d=${arc(26, 90, along)} stroke=${look.soft} stroke-width="1.6" fill="none"/>
    <text x=${fixed(40 * Math.sin((middle * Math.PI) / 180))} y=${fixed(-40 * Math.cos((middle * Math.PI) / 180) + 5)}
      font-size=${legible(15, unit)} font-weight="700" fill=${look.ink}>${Math.abs(dip_deg).toFixed(0)}°</text></g></g>`;
}
