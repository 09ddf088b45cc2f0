// The heading indicator: a card that turns under a fixed lubber line. Ghosts point at their readings.

import { svg, type SVGTemplateResult } from "lit-html";
import { heading, signed } from "../../shared/numbers.ts";
import { shortWay } from "../blend.ts";
import { at, every, fixed, strokes } from "../geometry.ts";
import type { Frame, Ghost } from "../messages.ts";
import { referenceDeg, referenceName } from "../true/reference.ts";
import { legible } from "./legible.ts";
import { type Face, letter, named, NUMERALS, type Point, reading } from "./face.ts";

export const HEADING_BOX = "-112 -116 224 264";
/** With names of ghosts in its corners. */
export const NAMED_HEADING_BOX = "-152 -146 304 294";
const NAME_SIZE = 13.5;
/** Where the names stand, from the lubber line outwards: each begins farther out, so that no line crosses a name. */
const NAME_ROWS: readonly Point[] = [
  [12, -137],
  [30, -121],
  [66, -105],
  [88, -89],
];
const TENS = strokes(every(10), 82, 97);
const FIVES = strokes(
  every(10).map((deg) => deg + 5),
  90,
  97,
);
// A plan view in straight strokes, fixed to the case as the lubber line is.
const PLAN = "M0 -34V26M-26 -4H26M-10 22H10";

export function headingWords(frame: Frame): string {
  const { indicated_deg, error_deg } = frame.shown;
  const state = frame.gyro.caged ? ", caged" : frame.gyro.on_stop ? ", on its stop" : "";
  return `Heading indicator: indicated ${heading(indicated_deg)}, ` +
    `${referenceName(frame)} ${heading(referenceDeg(frame))}, error ${signed(error_deg, 0)}${state}`;
}

function numeral(deg: number, text: string, face: Face): SVGTemplateResult {
  const letterly = deg % 90 === 0;
  return svg`<text transform="rotate(${deg}) translate(0 -62)" font-size=${legible(letterly ? 24 : 19, face.unit)}
    font-weight=${letterly ? 750 : 600} text-anchor="middle" fill=${face.look.ink}>${text}</text>`;
}

/** As far as a name may reach from the middle of the dial. */
const NAME_END = 149;

/** Of a bold letter, as a share of its size, in the widest of the page's fonts. */
const LETTER_WIDE = 0.68;

interface Needle {
  id: string;
  angleDeg: number;
}

/** Left and right of the lubber line or of the foot: each on its own side, those near the line on the emptier one. */
function sides(needles: readonly Needle[]): [left: Needle[], right: Needle[]] {
  const offDeg = ({ angleDeg }: Needle): number => Math.abs(angleDeg) % 180;
  const near = (a: Needle, b: Needle): number => Math.min(offDeg(a), 180 - offDeg(a)) - Math.min(offDeg(b), 180 - offDeg(b));
  const left = needles.filter(({ angleDeg }) => angleDeg < 0).sort(near);
  const right = needles.filter(({ angleDeg }) => angleDeg >= 0).sort(near);
  const [full, empty] = left.length > right.length ? [left, right] : [right, left];
  while (full.length > empty.length + 1) empty.unshift(full.shift() as Needle);
  return [left, right];
}

/** The ghosts' names in the corners round the card, in the order of their needles; none is cut off. */
function names(ghosts: readonly Needle[], face: Face): SVGTemplateResult[] {
  const made: SVGTemplateResult[] = [];
  const size = legible(NAME_SIZE, face.unit);
  for (const end of [-1, 1]) {
    const here = ghosts.filter(({ angleDeg }) => (Math.abs(angleDeg) <= 90 ? -1 : 1) === end);
    for (const [index, needles] of sides(here).entries()) {
      const side = index ? 1 : -1;
      needles.forEach(({ id, angleDeg }, row) => {
        const name = face.names?.get(id) ?? "";
        const [x, y] = NAME_ROWS[row] ?? [0, 0];
        const out = Math.min(end < 0 ? x : Math.max(x, 50), NAME_END - LETTER_WIDE * size * name.length);
        made.push(named(name, at(104, angleDeg), [side * out, y * -end], side < 0 ? "end" : "start", face.look, size));
      });
    }
  }
  return made;
}

function ghost(id: string, angleDeg: number, face: Face): SVGTemplateResult {
  if (face.names) {
    return svg`<path d=${strokes([angleDeg], 14, 104)} stroke=${face.look.ghost} stroke-width="4.5" stroke-dasharray="9 4"/>`;
  }
  const [x, y] = at(44, angleDeg);
  return svg`<path d=${strokes([angleDeg], 53, 82)} stroke=${face.look.ghost} stroke-width="4.5" stroke-dasharray="7 4"/>
    <path d=${strokes([angleDeg], 14, 35)} stroke=${face.look.ghost} stroke-width="2" stroke-dasharray="4 4"/>
    ${letter(x, y, face.letters.get(id) ?? "", face)}`;
}

function state(frame: CardFrame, face: Face): SVGTemplateResult | string {
  const words = frame.gyro.caged ? "caged" : frame.gyro.on_stop ? "on the stop" : "";
  if (!words) return "";
  return svg`<g transform="scale(${legible(17, face.unit) / 17})"><rect x="-56" y="-14" width="112" height="28" rx="3" fill=${face.look.paper} stroke=${face.look.bad}
    stroke-width="2"/><text y="6" font-size="17" font-weight="700" text-anchor="middle" fill=${face.look.ink}>${words}</text></g>`;
}

/** What the card of a moment is drawn from. */
export interface CardFrame {
  shown: Pick<Frame["shown"], "indicated_deg" | "error_deg">;
  gyro: Pick<Frame["gyro"], "caged" | "on_stop">;
  ghosts: readonly Pick<Ghost, "id" | "indicated_deg">[];
}

export function headingDial(frame: CardFrame, face: Face): SVGTemplateResult {
  const { look } = face;
  const { indicated_deg, error_deg } = frame.shown;
  return svg`
    <circle r="103" fill=${look.raised} stroke=${look.edge} stroke-width="2"/>
    <g transform="rotate(${fixed(-indicated_deg)})">
      <path d=${TENS} stroke=${look.ink} stroke-width="2.4"/>
      <path d=${FIVES} stroke=${look.ink} stroke-width="1.3"/>
      ${NUMERALS.map(([deg, text]) => numeral(deg, text, face))}
    </g>
    <path d=${PLAN} stroke=${look.edge} stroke-width="4" stroke-linecap="round" fill="none"/>
    ${frame.ghosts.map((one) => ghost(one.id, one.indicated_deg - indicated_deg, face))}
    <path d="M0 -80V-112" stroke=${look.setting} stroke-width="4.5"/>
    <path d="M-9 -114H9L0 -100Z" fill=${look.setting}/>
    ${face.names ? names(frame.ghosts.map((one) => ({ id: one.id, angleDeg: shortWay(indicated_deg, one.indicated_deg) })), face) : ""}
    ${state(frame, face)}
    ${reading(127, heading(indicated_deg), `error ${signed(error_deg)}°`, face)}`;
}
