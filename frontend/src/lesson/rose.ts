// The waiting room: a compass rose, on which each arrival takes a heading of its own.

import { html, svg, type SVGTemplateResult, type TemplateResult } from "lit-html";
import { every, strokes } from "../instrument/geometry.ts";
import { heading } from "../shared/numbers.ts";
import { NUMERALS } from "./dial.ts";

const BOX = "-160 -160 320 320";
const TENS = strokes(every(10), 109, 122);
const FIVES = strokes(every(10).map((deg) => deg + 5), 109, 116);
const BUG = "M-5.5 -143V-157H5.5V-143L0 -149Z";
/** A bug on every ten degrees, then on the fives between; after that they share. */
const TENS_TAKEN = 36;
/** From one arrival to the next: all tens are taken in turn, and no two neighbours after one another. */
const APART_DEG = 130;

/** The heading of an arrival, by how many came before. */
export function headingOf(before: number): number {
  return (before * APART_DEG + 5 * (Math.floor(before / TENS_TAKEN) % 2)) % 360;
}

function rose(taken: readonly number[], middle: SVGTemplateResult | string, ready = taken.length): TemplateResult {
  return html`<svg class="waiting" viewBox=${BOX} aria-hidden="true">
    <circle r="141" class="face"/><circle r="108" class="paper"/>
    <path d=${TENS} class="stroke" stroke-width="2.6"/><path d=${FIVES} class="stroke" stroke-width="1.4"/>
    ${NUMERALS.map((text, index) => svg`<text transform="rotate(${index * 30}) translate(0 -125)" text-anchor="middle"
      class=${index ? "numeral" : "numeral north"} font-size=${index % 3 ? 13 : 18} font-weight=${index % 3 ? 600 : 750}>${text}</text>`)}
    ${taken.map((deg, k) => svg`<path d=${BUG} class="bug" data-ready=${k < ready} transform="rotate(${deg})"/>`)}${middle}</svg>`;
}

/** The rose of the whole class; the code to scan lies in its middle. */
export function classRose(joined: number): TemplateResult {
  return rose(Array.from({ length: joined }, (_, before) => headingOf(before)), "");
}

/** The rose with how many are ready, whose bugs are filled; nobody's own bug, as it tells no names. */
export function readyRose(joined: number, ready: number, words: string): TemplateResult {
  const middle = svg`<text y="8" class="own" text-anchor="middle" font-size="60" font-weight="750">${ready}</text>
    <text y="38" class="own" text-anchor="middle" font-size="20">${words}</text>`;
  return rose(Array.from({ length: joined }, (_, before) => headingOf(before)), middle, ready);
}

/** A student's own place on it. */
export function ownRose(before: number): TemplateResult {
  const deg = headingOf(before);
  const middle = svg`<path d=${strokes([deg], 62, 104)} class="own-pointer" stroke-width="5" stroke-linecap="round"/>
    <text y="16" class="own" text-anchor="middle" font-size="46" font-weight="750">${heading(deg)}</text>`;
  return html`${rose([deg], middle)}
    <p class="cl-place">Your place on the rose: <strong>${heading(deg)}</strong>. Find it on the projector; the lesson begins soon.</p>`;
}
