// The magnetic compass as a pilot sees it: the near side of a card behind a window, so reversed.

import { svg, type SVGTemplateResult } from "lit-html";
import { heading, signed } from "../../shared/numbers.ts";
import { cos, every, fixed, sin } from "../geometry.ts";
import type { Frame } from "../messages.ts";
import { type Face, letter, named, NUMERALS, reading } from "./face.ts";
import { legible } from "./legible.ts";

export const COMPASS_BOX = "-112 -56 224 134";
const NAME_SIZE = 13.5;
/** With a row above the window for each ghost's name. */
export const namedCompassBox = (rows: number): string => `-130 ${-58 - 17 * rows} 260 ${136 + 17 * rows}`;
const RADIUS = 108;
const HALF_WIDTH = 100;
const EDGE_DEG = 67;
const NUMERAL_EDGE_DEG = 56;

export function compassWords(frame: Frame): string {
  const { compass_deg, compass_error_deg } = frame.shown;
  const right = compass_deg - compass_error_deg;
  return `Magnetic compass: reads ${heading(compass_deg)}, magnetic ${heading(right)}, error ${signed(compass_error_deg, 0)}`;
}

/** Position across the window: further clockwise on the card is further to the left. */
function across(deg: number, compassDeg: number, edgeDeg = EDGE_DEG): number | null {
  const offDeg = ((((compassDeg - deg + 180) % 360) + 360) % 360) - 180;
  return Math.abs(offDeg) < edgeDeg ? offDeg : null;
}

function marks(degs: number[], compassDeg: number, top: number, bottom: number): string {
  return degs
    .map((deg) => {
      const off = across(deg, compassDeg);
      return off === null ? "" : `M${fixed(RADIUS * sin(off))} ${top}V${bottom}`;
    })
    .join("");
}

const TENS = every(10);
const FIVES = every(10).map((deg) => deg + 5);

function numeral(deg: number, text: string, compassDeg: number, face: Face): SVGTemplateResult | string {
  const off = across(deg, compassDeg, NUMERAL_EDGE_DEG);
  if (off === null) return "";
  const turned = `translate(${fixed(RADIUS * sin(off))} 6) scale(${fixed(cos(off), 3)} 1)`;
  return svg`<text transform=${turned} font-size="27" font-weight=${deg % 90 ? 600 : 750} text-anchor="middle"
    fill=${face.look.ink}>${text}</text>`;
}

function ghost(id: string, deg: number, compassDeg: number, face: Face, row: number): SVGTemplateResult {
  const off = across(deg, compassDeg);
  const turnedDeg = ((((compassDeg - deg + 180) % 360) + 360) % 360) - 180;
  // A ghost outside the window is drawn at its edge, on its side.
  const x = off === null ? Math.sign(turnedDeg) * (HALF_WIDTH - 8) : RADIUS * sin(off);
  const clipped = Math.max(-HALF_WIDTH + 8, Math.min(HALF_WIDTH - 8, x));
  const name = face.names?.get(id) ?? "";
  const size = legible(NAME_SIZE, face.unit);
  const half = 0.29 * size * name.length;
  const middle = Math.max(-126 + half, Math.min(126 - half, clipped));
  return svg`${face.names ? named(name, [clipped, -22], [middle, -56 - 17 * row], "middle", face.look, size) : ""}<path d="M${fixed(clipped)} -22V38" stroke=${face.look.ghost} stroke-width="4" stroke-dasharray="7 4"
    opacity=${off === null ? 0.4 : 1}/>${letter(clipped, -32, face.letters.get(id) ?? "", face)}`;
}

/** With names, only ghosts that read something else: most ideas are about the other instrument. */
export function compassGhosts(frame: Frame, face: Face): Frame["ghosts"] {
  const apart = (deg: number): number => Math.abs(((((deg - frame.shown.compass_deg + 180) % 360) + 360) % 360) - 180);
  return face.names ? frame.ghosts.filter((one) => apart(one.compass_deg) >= 0.5) : frame.ghosts;
}

export function compassDial(frame: Frame, face: Face): SVGTemplateResult {
  const { look } = face;
  const { compass_deg, compass_error_deg } = frame.shown;
  return svg`
    <rect x=${-HALF_WIDTH} y="-42" width=${2 * HALF_WIDTH} height="80" rx="6" fill=${look.raised} stroke=${look.edge}
      stroke-width="2"/>
    <path d="M${-HALF_WIDTH} 16H${HALF_WIDTH}" stroke=${look.line} stroke-width="1.5"/>
    <path d=${marks(TENS, compass_deg, 16, 33)} stroke=${look.ink} stroke-width="2.4"/>
    <path d=${marks(FIVES, compass_deg, 16, 26)} stroke=${look.ink} stroke-width="1.3"/>
    ${NUMERALS.map(([deg, text]) => numeral(deg, text, compass_deg, face))}
    ${compassGhosts(frame, face).map((one, row) => ghost(one.id, one.compass_deg, compass_deg, face, row))}
    <path d="M0 -48V38" stroke=${look.setting} stroke-width="3"/>
    ${reading(60, heading(compass_deg), `error ${signed(compass_error_deg)}°`, face)}`;
}
