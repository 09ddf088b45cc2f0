// The account of one cause: description, law, the law with present numbers, the engine's rate, the source.

import { html, type TemplateResult } from "lit-html";
import { plain, signed } from "../../../shared/numbers.ts";
import type { Cause, Frame } from "../../../instrument/messages.ts";
import { partOf } from "../../../instrument/causes.ts";

const PLACE = /\{([a-z_.]+):(\+?)(e|\d)\}/g;

function valueAt(frame: Frame, path: string): number | null {
  let value: unknown = frame;
  for (const name of path.split(".")) value = (value as Record<string, unknown> | null)?.[name];
  return typeof value === "number" ? value : null;
}

function powers(value: number): string {
  if (value === 0) return "0";
  const [digits, power] = value.toExponential(1).split("e");
  return `${(digits ?? "").replace("-", "−")} × 10^${Number(power)}`.replace("^-", "^−");
}

/** The law's text with the numbers of a moment. */
export function filled(text: string, frame: Frame): string {
  return text.replace(PLACE, (_, path: string, sign: string, decimals: string) => {
    const value = valueAt(frame, path);
    if (value === null) return "–";
    if (decimals === "e") return powers(value);
    return sign ? signed(value, Number(decimals)) : plain(value, Number(decimals));
  });
}

export function account(cause: Cause, frame: Frame, close: () => void): TemplateResult {
  const rate = cause.rate ? frame.rates[cause.rate] : undefined;
  return html`<div class="account-head"><h3>${cause.name}: ${signed(partOf(frame.ledger, cause), 2)}°</h3>
    <button type="button" class="quiet" @click=${close}>Close</button></div>
    <p>${cause.what}</p>
    <p class="formula">${cause.formula}</p>
    <p class="formula now">now: ${filled(cause.numbers, frame)}</p>
    ${rate === undefined ? "" : html`<p class="formula engine">the engine’s rate: <strong>${signed(rate, 2)} °/h</strong></p>`}
    <p class="hint">Source: ${cause.source}</p>`;
}
