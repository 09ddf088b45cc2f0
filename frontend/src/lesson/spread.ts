// The answers of a class, without names, where a pilot would look for them: bugs set round a card, bugs along a
// scale, strokes in a log.

import { html, nothing, svg, type SVGTemplateResult, type TemplateResult } from "lit-html";
import { at, fixed, strokes } from "../instrument/geometry.ts";
import { plain } from "../shared/numbers.ts";
import { card } from "./dial.ts";
import type { Spread } from "./messages.ts";
import { LETTERS } from "./views.ts";

const ROSE_STEP_DEG = 5;
/** A heading bug with its notch at the rim. */
const BUG = "M-6 -104V-113H6V-104L0 -109Z";
const BUG_HIGH = 10.5;
const MOST_CROWD = 36;
const MOST_LABELS = 9;
const LABEL_RADIUS = 150;
/** Of a character of the words beside a card, at most. */
const LETTER_WIDE = 9.4;
/** Of a heap along a scale; half of its words is narrower, so that no line to a raised one crosses them. */
const HEAP_WIDE = 53;
const LABEL_WIDE = 102;
const LABEL_HIGH = 42;

interface Heap {
  deg: number;
  count: number;
}

const share = (count: number, one: Spread): string => `${count} of ${one.count}`;

/** Strokes by fives, as in a log: the fifth across the other four. */
function tally(count: number): SVGTemplateResult[] {
  return Array.from({ length: count }, (_, k) => {
    const x = 6 + Math.floor(k / 5) * 46 + (k % 5) * 9;
    // No hand draws two strokes alike.
    const lean = ((k * 37) % 5) - 2;
    const drawn = k % 5 === 4 ? `M${x - 41} ${20 + lean / 2}L${x - 2} ${6 - lean / 2}` : `M${x + lean / 2} 3L${x - lean / 2} 23`;
    return svg`<path d=${drawn}/>`;
  });
}

function options(one: Spread): TemplateResult {
  return html`<ol class="cl-tally">${one.options.map((count, place) => {
    const wide = Math.max(1, Math.ceil(count / 5)) * 46;
    return html`<li data-right=${place === one.right_option}>
      <span class="cl-letter">${LETTERS[place]}</span>
      <span class="cl-text">${one.question.options[place]}${place === one.right_option ? html` <strong>✓ correct</strong>` : nothing}</span>
      ${count ? html`<svg class="cl-strokes" viewBox=${`0 0 ${wide} 26`} aria-hidden="true">${tally(count)}</svg>` : nothing}
      <span class="cl-count">${share(count, one)}</span></li>`;
  })}</ol>`;
}

/** Angles near the heaps' own, so far apart that their labels are clear of one another. */
function labelled(heaps: readonly Heap[]): [heap: Heap, deg: number][] {
  const largest = [...heaps].sort((a, b) => b.count - a.count).slice(0, MOST_LABELS).sort((a, b) => a.deg - b.deg);
  const ahead = (k: number): number => (((largest[(k + 1) % largest.length]?.deg ?? 0) - (largest[k]?.deg ?? 0) + 359) % 360) + 1;
  // Laid out in a row that begins after the widest gap.
  const last = largest.reduce((widest, _, k) => (ahead(k) > ahead(widest) ? k : widest), 0);
  const row = largest.map((_, k) => largest[(last + 1 + k) % largest.length] as Heap);
  const placed = row.map((heap): [Heap, number] => [heap, heap.deg < (row[0]?.deg ?? 0) ? heap.deg + 360 : heap.deg]);
  for (let turn = 0; turn < 60; turn += 1) {
    for (const [k, next] of placed.entries()) {
      const one = placed[k - 1];
      if (!one) continue;
      // Words lie level: at the top and at the foot they need more room than at the sides.
      const room = 9 + 14 * Math.abs(Math.cos((one[1] * Math.PI) / 180));
      const lacks = Math.max(0, room - (next[1] - one[1]));
      one[1] -= lacks / 2;
      next[1] += lacks / 2;
    }
  }
  return placed;
}

/** Directions answered: a bug for each, set on the card, in heaps of five degrees. */
function rose(one: Spread): TemplateResult {
  const counts = new Map<number, number>();
  for (const value of one.values) {
    const deg = (Math.round(value / ROSE_STEP_DEG) * ROSE_STEP_DEG) % 360;
    counts.set(deg, (counts.get(deg) ?? 0) + 1);
  }
  const heaps = [...counts].map(([deg, count]) => ({ deg, count })).sort((a, b) => a.deg - b.deg);
  const gapOf = (count: number): number => Math.min(BUG_HIGH, MOST_CROWD / count);
  const crowd = heaps.map(({ deg, count }) =>
    Array.from({ length: count }, (_, k) => svg`<path d=${BUG} class="bug" transform="rotate(${deg}) translate(0 ${fixed(-k * gapOf(count))})"/>`),
  );
  const labels = labelled(heaps).map(([{ deg, count }, shownDeg]) => {
    const [x1, y1] = at(106 + count * gapOf(count) + 4, deg);
    const [x2, y2] = at(LABEL_RADIUS - 6, shownDeg);
    const [x, y] = at(LABEL_RADIUS + 4, shownDeg);
    const anchor = Math.abs(x) < 40 ? "middle" : x < 0 ? "end" : "start";
    return svg`<path d="M${fixed(x1)} ${fixed(y1)}L${fixed(x2)} ${fixed(y2)}" class="cl-lead"/>
      <text x=${fixed(x * (anchor === "middle" ? 1 : 0.97))} y=${fixed(y + 5)} text-anchor=${anchor} font-size="16" font-weight="700">${share(count, one)}</text>`;
  });
  const words = heaps.map(({ deg, count }) => `${String(deg).padStart(3, "0")}: ${count}`);
  const truth = one.truth === null ? nothing : svg`<path d=${strokes([one.truth], 0, 103)} class="truth-pointer" stroke-width="5"/>`;
  // Above and below the card there is room where somebody stands.
  const reaches = (side: number): boolean => heaps.some(({ deg }) => side * Math.cos((deg * Math.PI) / 180) > 0.1);
  const [top, foot] = [reaches(1) ? -168 : -108, reaches(-1) ? 162 : 108];
  const half = LABEL_RADIUS + 4 + LETTER_WIDE * Math.max(...heaps.map(({ count }) => share(count, one).length), 0);
  return html`<svg class="turn still rose" viewBox=${`${fixed(-half)} ${top} ${fixed(2 * half)} ${foot - top}`} role="img" aria-label=${`Answers by direction: ${words.join(", ")}`}>
    <circle r="103" class="face"/>${card()}${truth}${crowd}${labels}</svg>`;
}

/** Marks of a scale at a round step, about so many of them. */
function marks(low: number, high: number, many: number): number[] {
  const raw = (high - low) / many;
  const size = 10 ** Math.floor(Math.log10(raw));
  const step = ([1, 2, 5, 10].find((times) => times * size >= raw) ?? 10) * size;
  const first = Math.ceil(low / step - 1e-9);
  return Array.from({ length: Math.floor(high / step + 1e-9) - first + 1 }, (_, k) => (first + k) * step);
}

interface Box {
  left: number;
  right: number;
  top: number;
  foot: number;
}

const isOver = (one: Box, other: Box): boolean =>
  one.left < other.right && other.left < one.right && one.top < other.foot && other.top < one.foot;

/** Where the words over each heap stand: over its top, or as far above it as they are clear of all others. */
function raised(heaps: readonly { x: number; top: number }[], foot: number): Box[] {
  const taken: Box[] = heaps.map(({ x, top }) => ({ left: x - 15, right: x + 15, top, foot }));
  return heaps.map(({ x, top }) => {
    const words = { left: x - LABEL_WIDE / 2, right: x + LABEL_WIDE / 2, top: top - 8 - LABEL_HIGH, foot: top - 8 };
    while (taken.some((other) => isOver(words, other))) {
      words.top -= 4;
      words.foot -= 4;
    }
    taken.push(words, { left: x - 2, right: x + 2, top: words.foot, foot });
    return words;
  });
}

/** The values of a heap: the one that all gave, or about where they are. */
function valueWords(values: readonly number[]): string {
  const [first = 0, last = first] = [values[0], values[values.length - 1]];
  return first === last ? plain(first, 1).replace(/\.0$/, "") : `near ${plain(values[values.length >> 1] ?? 0, last - first < 2 ? 1 : 0)}`;
}

/** Numbers answered: a bug for each, set along a scale, in heaps that say whose number and how many. */
function scale(one: Spread, wide: number): TemplateResult {
  if (!one.values.length) return html``;
  const all = one.truth === null ? one.values : [...one.values, one.truth];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const spare = 0.08 * (most - least) || Math.max(1, Math.abs(least) * 0.1);
  const [low, high] = [least - spare, most + spare];
  const x = (value: number): number => 44 + ((wide - 88) * (value - low)) / (high - low);
  const bins = new Map<number, number[]>();
  for (const value of one.values) {
    const place = Math.round(x(value) / HEAP_WIDE) * HEAP_WIDE;
    bins.set(place, [...(bins.get(place) ?? []), value]);
  }
  const mostHigh = Math.max(...[...bins.values()].map((values) => values.length));
  const gap = Math.min(32, 230 / mostHigh);
  const line = Math.max(190, 44 + mostHigh * gap);
  const heaps = [...bins].map(([place, values]) => ({ x: place, values, top: line - values.length * gap }));
  const labels = raised(heaps, line);
  const top = Math.min(0, ...labels.map((label) => label.top - 4));
  const crowd = heaps.map(
    ({ x: place, values, top: heapTop }, k) => svg`<path d="M${place} ${fixed(heapTop)}V${fixed((labels[k] as Box).foot)}" class="cl-lead"/>
      ${values.map((_, up) => svg`<path d="M-15 0V-26H15V0L0 -12Z" class="bug" transform="translate(${place} ${fixed(line - 3 - up * gap)})"/>`)}
      <text x=${place} y=${fixed((labels[k] as Box).top + 17)} text-anchor="middle" font-weight="700">${share(values.length, one)}</text>
      <text x=${place} y=${fixed((labels[k] as Box).top + 37)} text-anchor="middle">${valueWords(values)}</text>`,
  );
  const steps = marks(low, high, wide / 75);
  const decimals = steps.every((value) => Math.abs(value - Math.round(value)) < 1e-9) ? 0 : 1;
  // The right one: up through its heap, not through the words over it, and an arrow under the line.
  const truthX = x(one.truth ?? 0);
  const behind = heaps.find((heap) => Math.abs(heap.x - truthX) < HEAP_WIDE / 2);
  const mark = one.truth === null ? nothing : svg`<path d="M${fixed(truthX)} ${fixed(behind ? behind.top - 4 : line - 44)}V${line + 12}" class="truth-pointer" stroke-width="5"/><path d="M${fixed(truthX)} ${line + 1}l11 15h-22Z" class="truth-mark"/>`;
  return html`<svg class="cl-numbers" viewBox=${`0 ${fixed(top, 0)} ${wide} ${fixed(line + 62 - top, 0)}`} role="img" aria-label=${`Answers: ${one.values.map((value) => plain(value, 1)).join(", ")}`}>
    <path d=${`M12 ${line}H${wide - 12}`} class="stroke"/>
    ${steps.map((value) => svg`<path d=${`M${fixed(x(value))} ${line}v11`} class="stroke"/><text x=${fixed(x(value))} y=${line + 29} text-anchor="middle">${plain(value, decimals)}</text>`)}
    ${crowd}${mark}<text x=${wide / 2} y=${line + 54} text-anchor="middle">${one.unit}</text></svg>`;
}

/** As wide as a scale is drawn by itself, and in a column, where its letters would be too small. */
const WIDE = 600;
export const NARROW = 400;

/** Undrawn: only what is right, and the ideas behind the answers. */
export function spread(one: Spread, isDrawn = true, wide = WIDE): TemplateResult {
  if (!one.count && one.truth === null && one.question.how !== "options") return html`<p class="cl-right">No answers.</p>`;
  const drawing = one.question.how === "options" ? options(one) : one.question.how === "dial" ? rose(one) : scale(one, wide);
  return html`${isDrawn || one.question.how === "options" ? drawing : nothing}
    ${one.truth_words && one.question.how !== "options" ? html`<p class="cl-right">Correct: <strong>${one.truth_words}</strong></p>` : nothing}
    ${one.ideas.length
      ? html`<ul class="cl-held">${one.ideas.map(([statement, count]) => html`<li>${share(count, one)}: <q>${statement || "another slip"}</q></li>`)}</ul>`
      : nothing}`;
}
