// The ledger of this moment: a signed bar for each cause that is not zero; each cause opens its account.

import { html, svg, type TemplateResult } from "lit-html";
import { signed } from "../../../shared/numbers.ts";
import type { Cause, Frame } from "../../../instrument/messages.ts";
import { halfScaleDeg, hasPart, partOf, shape } from "../../../instrument/causes.ts";

const HALF = 100;

function bar(cause: Cause | null, value: number, half: number): TemplateResult {
  const reach = Math.max(-1, Math.min(1, value / half)) * HALF;
  const path = `M0 3H${reach.toFixed(2)}V19H0Z`;
  return html`<svg class="bar" viewBox="-104 0 208 22" preserveAspectRatio="none" aria-hidden="true">
    ${svg`<path d="M-100 21H100" class="bar-line"/>`}
    ${cause ? shape("why", cause, path) : svg`<path d=${path} class="bar-total"/>`}
    ${svg`<path d="M0 0V22" class="bar-zero"/>`}
  </svg>`;
}

/** A cause that was not zero since the setting keeps its row, so that rows do not come and go. */
export class Rows {
  private shown = new Set<string>();
  private lastSetS = -1;

  of(frame: Frame, causes: Cause[]): [shown: Cause[], absent: Cause[]] {
    const setS = Math.round(frame.time_s - frame.since_set_s);
    if (setS !== this.lastSetS) this.shown.clear();
    this.lastSetS = setS;
    for (const cause of causes) if (hasPart(frame, cause)) this.shown.add(cause.key);
    return [
      causes.filter((cause) => this.shown.has(cause.key)),
      causes.filter((cause) => !this.shown.has(cause.key)),
    ];
  }
}

export function bars(
  frame: Frame,
  rows: [Cause[], Cause[]],
  opened: string,
  numbers: boolean,
  open: (key: string) => void,
): TemplateResult {
  const [shown, absent] = rows;
  const half = halfScaleDeg(frame, shown);
  const total = frame.ledger["total_deg"] ?? 0;
  const value = (deg: number): string => (numbers ? `${signed(deg)}°` : "");
  const button = (cause: Cause, content: unknown): TemplateResult => html`<button type="button" class="cause"
    aria-expanded=${opened === cause.key} aria-controls="account" data-cause=${cause.key}
    @click=${() => open(cause.key)}>${content}</button>`;
  return html`
    <ul class="bars" aria-label="Error by cause, in degrees">
      ${shown.map((cause) => {
        const part = partOf(frame.ledger, cause);
        return html`<li>${button(cause, html`<span class="cause-name">${cause.name}</span>${bar(cause, part, half)}<span
          class="cause-value">${value(part)}</span>`)}</li>`;
      })}
      <li class="total"><span class="cause-name">total</span>${bar(null, total, half)}<span
        class="cause-value">${value(total)}</span></li>
    </ul>
    <p class="bars-scale" aria-hidden="true"><span>−${half}°</span><span>0</span><span>+${half}°</span></p>
    ${absent.length
      ? html`<p class="absent">Zero so far: ${absent.map((cause) => button(cause, cause.name))}</p>`
      : ""}`;
}
