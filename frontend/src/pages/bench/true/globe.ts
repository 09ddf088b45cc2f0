// The Earth from the side: the latitude, the vertical there, and the part of the rotation about it.

import { svg, type SVGTemplateResult } from "lit-html";
import { latitude, signed } from "../../../shared/numbers.ts";
import { FONT } from "../../../instrument/dials/face.ts";
import { cos, fixed, headAt, sin } from "../../../instrument/geometry.ts";
import type { Look } from "../../../instrument/look.ts";
import type { Frame } from "../../../instrument/messages.ts";

export const GLOBE_BOX = "-64 -74 128 120";
const RADIUS = 38;

export function globeCaption(frame: Frame): string {
  const rate = frame.rates["earth_deg_h"] ?? 0;
  return `${latitude(frame.truth.latitude_deg, 1)}: apparent wander ${signed(rate)}°/h`;
}

export function globeWords(frame: Frame): string {
  const rate = frame.rates["earth_deg_h"] ?? 0;
  return `Latitude ${latitude(frame.truth.latitude_deg, 1)}; apparent wander (Earth rate) ${signed(rate)} degrees per hour`;
}

/** An arrow round the vertical: its width is the share of the Earth's rotation, its sense the hemisphere's. */
function turning(latitudeDeg: number, look: Look): SVGTemplateResult | string {
  const share = sin(latitudeDeg);
  const wide = 15 * Math.sqrt(Math.abs(share));
  if (wide < 2) return "";
  const x = 52 * cos(latitudeDeg);
  const y = -52 * sin(latitudeDeg);
  // Seen from above the ground the Earth turns anticlockwise in the north, clockwise in the south.
  const sweep = share > 0 ? 0 : 1;
  const end = share > 0 ? wide : -wide;
  return svg`<g transform="translate(${fixed(x)} ${fixed(y)}) rotate(${fixed(90 - latitudeDeg)})">
    <path d=${`M${fixed(-end)} -1A${fixed(wide)} ${fixed(wide * 0.4)} 0 1 ${sweep} ${fixed(end)} -1${headAt(end, -1, share > 0 ? 10 : -10, 8)}`}
      stroke=${look.setting} stroke-width="2.6" fill="none"/></g>`;
}

export function globe(frame: Frame, look: Look): SVGTemplateResult {
  const { latitude_deg } = frame.truth;
  const across = RADIUS * cos(latitude_deg);
  const height = -RADIUS * sin(latitude_deg);
  return svg`<g font-family=${FONT}><g transform="translate(0 -8)">
    <path d="M0 -52V52" stroke=${look.soft} stroke-width="1.4" stroke-dasharray="4 3"/>
    <circle r=${RADIUS} fill=${look.raised} stroke=${look.edge} stroke-width="1.6"/>
    <path d="M${-RADIUS} 0A${RADIUS} 7 0 0 0 ${RADIUS} 0" stroke=${look.line} stroke-width="1.4" fill="none"/>
    <path d="M${fixed(-across)} ${fixed(height)}A${fixed(Math.max(0.1, across))} ${fixed(0.18 * across)} 0 0 0 ${fixed(across)} ${fixed(height)}"
      stroke=${look.ink} stroke-width="2.4" fill="none"/>
    <path d="M${fixed(across)} ${fixed(height)}L${fixed(58 * cos(latitude_deg))} ${fixed(-58 * sin(latitude_deg))}"
      stroke=${look.ink} stroke-width="2"/>
    <circle cx=${fixed(across)} cy=${fixed(height)} r="3.6" fill=${look.ink}/>
    ${turning(latitude_deg, look)}</g></g>`;
}
