// The aircraft from above, north at the top: heading, track, relative airflow, magnetic north.

import { svg, type SVGTemplateResult } from "lit-html";
import { heading, plain, signed } from "../../shared/numbers.ts";
import { shortWay } from "../blend.ts";
import { FONT } from "../dials/face.ts";
import { legible } from "../dials/legible.ts";
import { arc, arrow, at, every, fixed, headAt, strokes } from "../geometry.ts";
import type { Look } from "../look.ts";
import type { Frame } from "../messages.ts";

export const ABOVE_BOX = "-130 -132 260 264";
const RIM = 100;
const TURN_RADIUS = 81;
const RING = strokes(every(10), 95, RIM);
const RING_LONG = strokes(every(30), 90, RIM);
// Seen from above, nose up; our own straight lines, not a known type.
const AIRCRAFT = "M0 -44L5 -36L6 -14L46 -4V5L6 8L4 30L17 37V42H-17V37L-4 30L-6 8L-46 5V-4L-6 -14L-5 -36Z";
const TURNING_DEG_S = 0.2;

export function aboveWords(frame: Frame): string {
  const { truth } = frame;
  return (
    `From above: heading ${heading(truth.heading_deg)} true, ${heading(truth.magnetic_deg)} magnetic, ` +
    `track ${heading(truth.track_deg)}, ${plain(truth.groundspeed_kt)} knots, ${turningWords(truth.turn_rate_deg_s)}`
  );
}

export function turningWords(rateDegS: number): string {
  if (Math.abs(rateDegS) < TURNING_DEG_S) return "not turning";
  return `turning ${rateDegS > 0 ? "right" : "left"} ${Math.abs(rateDegS).toFixed(1)}°/s`;
}

/** The rate of turn, as an arc ahead of the nose: the turn in ten seconds. */
function turning(headingDeg: number, rateDegS: number, look: Look): SVGTemplateResult | string {
  if (Math.abs(rateDegS) < TURNING_DEG_S) return "";
  const sweepDeg = Math.max(-170, Math.min(170, rateDegS * 10));
  const endDeg = headingDeg + sweepDeg;
  const [x, y] = at(TURN_RADIUS, endDeg);
  const along = endDeg + (sweepDeg > 0 ? 90 : -90);
  return svg`<path d=${arc(TURN_RADIUS, headingDeg, endDeg) + headAt(x, y, along, 12)} stroke=${look.setting} stroke-width="4"
    fill="none" stroke-linecap="round"/>`;
}

/** The relative airflow: streaks towards the nose. */
function windOfMotion(headingDeg: number, look: Look): SVGTemplateResult {
  const streaks = [-16, 0, 16].map((side) => `M${side} -74V${side ? -50 : -54}M${side - 4} ${side ? -57 : -61}L${side} ${side ? -50 : -54}L${side + 4} ${side ? -57 : -61}`);
  return svg`<g transform="rotate(${fixed(headingDeg)})"><path d=${streaks.join("")} stroke=${look.edge} stroke-width="2"
    fill="none"/></g>`;
}

function magneticNorth(variationDeg: number, look: Look, size: number): SVGTemplateResult {
  // Far enough from the N.
  const leastDeg = size * 0.6;
  const [x, y] = at(116, Math.abs(shortWay(0, variationDeg)) < leastDeg ? leastDeg * (variationDeg < 0 ? -1 : 1) : variationDeg);
  return svg`<path d=${arrow(0, RIM - 2, variationDeg, 12)} stroke=${look.compass} stroke-width="2.5"
    stroke-dasharray="9 5" fill="none"/>
    <text x=${fixed(x)} y=${fixed(y + 5)} font-size=${size} font-weight="700" text-anchor="middle"
      fill=${look.compass}>M</text>`;
}

export function above(frame: Frame, look: Look, unit = 0): SVGTemplateResult {
  const { truth } = frame;
  const size = legible(15, unit);
  const drift = Math.abs(shortWay(truth.heading_deg, truth.track_deg)) > 0.5;
  return svg`<g font-family=${FONT}>
    <circle r=${RIM} fill=${look.raised} stroke=${look.edge} stroke-width="1.6"/>
    <path d=${RING} stroke=${look.edge} stroke-width="1.2"/><path d=${RING_LONG} stroke=${look.ink} stroke-width="2"/>
    <text y="-108" font-size=${legible(20, unit)} font-weight="750" text-anchor="middle" fill=${look.ink}>N</text>
    ${[["E", 112, 6], ["S", 0, 119], ["W", -112, 6]].map(
      ([text, x, y]) => svg`<text x=${x} y=${y} font-size=${size} font-weight="600" text-anchor="middle"
        fill=${look.soft}>${text}</text>`,
    )}
    ${magneticNorth(truth.variation_deg, look, size)}
    ${windOfMotion(truth.heading_deg, look)}
    <g transform="rotate(${fixed(truth.heading_deg)})"><path d=${AIRCRAFT} fill=${look.ink}/></g>
    ${drift ? svg`<path d=${arrow(46, 92, truth.track_deg, 10)} stroke=${look.indicated} stroke-width="3" stroke-dasharray="2 4" fill="none"/>` : ""}
    <path d=${strokes([truth.heading_deg], 84, 103)} stroke=${look.ink} stroke-width="5"/>
    ${turning(truth.heading_deg, truth.turn_rate_deg_s, look)}</g>`;
}

/** The numbers beside the picture, as term and words. */
export function aboveNumbers(frame: Frame): [term: string, words: string][] {
  const { truth } = frame;
  const side = (value: number): string => (value < 0 ? "W" : "E");
  return [
    ["true", heading(truth.heading_deg)],
    ["magnetic", heading(truth.magnetic_deg)],
    ["track", heading(truth.track_deg)],
    ["turning", `${signed(truth.turn_rate_deg_s)}°/s`],
    ["bank", `${signed(truth.bank_deg, 0)}°`],
    ["pitch", `${signed(truth.pitch_deg, 0)}°`],
    ["speed", `${plain(truth.groundspeed_kt)} kt`],
    ["variation", `${Math.abs(truth.variation_deg).toFixed(1)}° ${side(truth.variation_deg)}`],
  ];
}
