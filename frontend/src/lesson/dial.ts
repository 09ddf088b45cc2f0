// A heading card turned by finger or keyboard, and a card with pointers at the right answer.

import { html, svg, type SVGTemplateResult, type TemplateResult } from "lit-html";
import { every, fixed, strokes } from "../instrument/geometry.ts";
import { heading } from "../shared/numbers.ts";

export const NUMERALS = ["N", "3", "6", "E", "12", "15", "S", "21", "24", "W", "30", "33"];
const TENS = strokes(every(10), 82, 97);
const FIVES = strokes(every(10).map((deg) => deg + 5), 90, 97);
const STEPS: { [key: string]: number } = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
export const BOX = "-112 -118 224 232";

function whole(deg: number): number {
  return ((Math.round(deg) % 360) + 360) % 360;
}

export function card(): SVGTemplateResult {
  return svg`<path d=${TENS} class="stroke" stroke-width="2.4"/><path d=${FIVES} class="stroke" stroke-width="1.3"/>
    ${NUMERALS.map((text, index) => svg`<text transform="rotate(${index * 30}) translate(0 -62)" text-anchor="middle"
      class="numeral" font-size=${index % 3 ? 19 : 24} font-weight=${index % 3 ? 600 : 750}>${text}</text>`)}`;
}

function angleOf(event: PointerEvent, drawing: Element): number {
  const box = drawing.getBoundingClientRect();
  return (Math.atan2(event.clientX - box.left - box.width / 2, box.top + box.height * (118 / 232) - event.clientY) * 180) / Math.PI;
}

let grip: { pointer: number; fromDeg: number; value: number } | null = null;

/** A card to turn under its lubber line. `value` is null until it was touched. */
export function turnable(label: string, value: number | null, closed: boolean, turned: (deg: number) => void): TemplateResult {
  const shown = value ?? 0;
  const start = (event: PointerEvent): void => {
    if (closed) return;
    const drawing = event.currentTarget as Element;
    drawing.setPointerCapture(event.pointerId);
    grip = { pointer: event.pointerId, fromDeg: angleOf(event, drawing), value: shown };
  };
  const move = (event: PointerEvent): void => {
    if (!grip || grip.pointer !== event.pointerId) return;
    turned(whole(grip.value - (angleOf(event, event.currentTarget as Element) - grip.fromDeg)));
  };
  const end = (): void => {
    grip = null;
  };
  const key = (event: KeyboardEvent): void => {
    const by = STEPS[event.key];
    if (closed || (by === undefined && event.key !== "Home")) return;
    event.preventDefault();
    turned(by === undefined ? 0 : whole(shown + by));
  };
  const nudge = (by: number, words: string): TemplateResult =>
    html`<button type="button" class="quiet" ?disabled=${closed} aria-label=${words} @click=${() => turned(whole(shown + by))}>${by > 0 ? "+" : "−"}${Math.abs(by)}°</button>`;
  return html`<div class="turning">
    <svg class="turn" viewBox=${BOX} role="slider" tabindex=${closed ? -1 : 0} aria-label=${label} aria-disabled=${closed}
      aria-valuemin="0" aria-valuemax="359" aria-valuenow=${whole(shown)}
      aria-valuetext=${value === null ? "not turned yet" : `${heading(shown)} degrees`}
      @pointerdown=${start} @pointermove=${move} @pointerup=${end} @pointercancel=${end} @keydown=${key}>
      <circle r="103" class="face"/>
      <g transform="rotate(${fixed(-shown)})">${card()}</g>
      <path d="M0 -80V-112" class="lubber" stroke-width="4.5"/><path d="M-9 -116H9L0 -102Z" class="lubber-head"/>
      <text y="12" class="read" text-anchor="middle">${value === null ? "turn" : heading(shown)}</text>
    </svg>
    <div class="nudges">${nudge(-10, "10 degrees less")} ${nudge(-1, "1 degree less")} ${nudge(1, "1 degree more")} ${nudge(10, "10 degrees more")}</div>
  </div>`;
}

/** A fixed card with the right direction and the student's own. */
export function compared(truth: number, own: number | null): TemplateResult {
  const label = `Correct: ${heading(truth)} degrees${own === null ? "" : `; yours: ${heading(own)} degrees`}`;
  const pointer = (deg: number, from: number, to: number, cls: string): SVGTemplateResult =>
    svg`<path d=${strokes([deg], from, to)} class=${cls} stroke-width="7" stroke-linecap="round"/>`;
  return html`<svg class="turn still" viewBox=${BOX} role="img" aria-label=${label}>
    <circle r="103" class="face"/>${card()}
    ${own === null ? "" : pointer(own, 10, 38, "own-pointer")}${pointer(truth, 48, 100, "truth-pointer")}
  </svg>
  <p class="cl-legend"><span class="cl-truth">▬</span> correct${own === null ? "" : html`, <span class="cl-own">▬</span> yours`}</p>`;
}
