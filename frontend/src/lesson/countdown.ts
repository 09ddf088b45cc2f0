// The countdown of an open question: it shows the time and closes nothing.

import { html, nothing, svg, type TemplateResult } from "lit-html";
import { at, every, fixed, strokes } from "../instrument/geometry.ts";

// How far the server's clock is ahead of this device's.
let aheadMs = 0;

export function hearTime(serverMs: number): void {
  aheadMs = serverMs - Date.now();
}

/** Whole seconds left; null without a countdown. */
export function secondsLeft(endUtc: string): number | null {
  return endUtc ? Math.max(0, Math.ceil((Date.parse(endUtc) - Date.now() - aheadMs) / 1000)) : null;
}

/** Draws anew while a countdown runs. */
export function everySecond(endUtc: () => string, draw: () => void): void {
  let shown: number | null = null;
  window.setInterval(() => {
    const left = secondsLeft(endUtc());
    if (left !== shown) draw();
    shown = left;
  }, 200);
}

const timeOf = (left: number): string => `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;

export function timeLeft(endUtc: string): TemplateResult | typeof nothing {
  const left = secondsLeft(endUtc);
  if (left === null) return nothing;
  return html`<p class="cl-left" role="timer" data-over=${left === 0}>${left ? html`<strong>${timeOf(left)}</strong> left` : "Time is up."}</p>`;
}

/** The clock of a panel, whose sweep hand runs back to the top. */
export function panelClock(endUtc: string): TemplateResult | typeof nothing {
  const left = secondsLeft(endUtc);
  if (left === null) return nothing;
  const [x, y] = at(40, left * 6);
  return html`<svg class="cl-clock" viewBox="-52 -52 104 104" role="timer" aria-label=${left ? `${timeOf(left)} left` : "Time is up"}>
    <circle r="50" class="face"/><path d=${strokes(every(30), 41, 48)} class="stroke" stroke-width="2.4"/><path d=${strokes(every(6), 45, 48)} class="stroke" stroke-width="1"/>
    ${svg`<path d="M0 0L${fixed(x)} ${fixed(y)}" class="hand"/><circle r="4" class="hub"/>`}
    <text y="26" text-anchor="middle">${timeOf(left)}</text></svg>`;
}
