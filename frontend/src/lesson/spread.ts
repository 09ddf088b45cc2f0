// The answers of a class, without names: bars by option, a rose of directions, or numbers along a line.

import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from "lit-html";
import { at, fixed, strokes } from "../instrument/geometry.ts";
import { BOX, card } from "./dial.ts";
import type { Spread } from "./messages.ts";
import { plain } from "../shared/numbers.ts";

const LETTERS = "ABCDEFGH";
const ROSE_STEP_DEG = 5;

function bars(one: Spread): TemplateResult {
  const most = Math.max(1, ...one.options);
  return html`<ol class="cl-bars">${one.options.map(
    (count, place) => html`<li data-right=${place === one.right_option}>
      <span class="cl-letter">${LETTERS[place]}</span>
      <span class="cl-text">${one.question.options[place]}${place === one.right_option ? html` <strong>✓ correct</strong>` : nothing}</span>
      <svg class="cl-bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect width=${fixed((100 * count) / most)} height="10"/></svg>
      <span class="cl-count">${count}</span></li>`,
  )}</ol>`;
}

/** Directions answered, in bins of five degrees round the card. */
function rose(one: Spread): TemplateResult {
  const heaps = new Map<number, number>();
  for (const value of one.values) {
    const place = (Math.round(value / ROSE_STEP_DEG) * ROSE_STEP_DEG) % 360;
    heaps.set(place, (heaps.get(place) ?? 0) + 1);
  }
  const dots: SVGTemplateResult[] = [];
  for (const [deg, count] of heaps) {
    // Dots inside the numerals, towards the middle; a tall stack is drawn closer.
    const gap = Math.min(10.5, 40 / count);
    for (let k = 0; k < count; k += 1) {
      const [x, y] = at(50 - k * gap, deg);
      dots.push(svg`<circle cx=${fixed(x)} cy=${fixed(y)} r="5" class="dot"/>`);
    }
  }
  const words = [...heaps].sort(([a], [b]) => a - b).map(([deg, count]) => `${String(deg).padStart(3, "0")}: ${count}`);
  const truth = one.truth === null ? nothing : svg`<path d=${strokes([one.truth], 58, 103)} class="truth-pointer" stroke-width="5"/>`;
  return html`<svg class="turn still rose" viewBox=${BOX} role="img" aria-label=${`Answers by direction: ${words.join(", ")}`}>
    <circle r="103" class="face"/>${card()}${dots}${truth}</svg>`;
}

/** Numbers answered along a line, as dots stacked where they are close. */
function line(one: Spread): TemplateResult {
  const all = one.truth === null ? one.values : [...one.values, one.truth];
  if (!one.values.length) return html``;
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const wide = high - low || 1;
  const x = (value: number): number => 20 + (260 * (value - low)) / wide;
  const heaps = new Map<number, number>();
  const dots = one.values.map((value) => {
    const place = Math.round(x(value) / 8);
    const height = heaps.get(place) ?? 0;
    heaps.set(place, height + 1);
    return svg`<circle cx=${place * 8} cy=${fixed(72 - Math.min(height, 7) * 8.4)} r="4" class="dot"/>`;
  });
  const mark = one.truth === null ? nothing : svg`<path d="M${fixed(x(one.truth))} 6V84" class="truth-pointer" stroke-width="3"/>`;
  return html`<svg class="cl-numbers" viewBox="0 0 300 118" role="img" aria-label=${`Answers: ${one.values.map((value) => plain(value, 1)).join(", ")}`}>
    <path d="M10 80H290" class="stroke"/>${mark}${dots}
    <text x="20" y="98" text-anchor="middle">${plain(low, low % 1 ? 1 : 0)}</text>
    <text x="280" y="98" text-anchor="middle">${plain(high, high % 1 ? 1 : 0)}</text>
    <text x="150" y="114" text-anchor="middle">${one.unit}</text></svg>`;
}

export function spread(one: Spread): TemplateResult {
  const drawing = one.question.how === "options" ? bars(one) : one.question.how === "dial" ? rose(one) : line(one);
  return html`${drawing}
    ${one.truth_words ? html`<p class="cl-right">Correct: <strong>${one.truth_words}</strong></p>` : nothing}
    ${one.ideas.length
      ? html`<ul class="cl-held">${one.ideas.map(([statement, count]) => html`<li>${count} × <q>${statement || "another slip"}</q></li>`)}</ul>`
      : nothing}`;
}
