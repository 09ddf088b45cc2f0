// The causes given with the page, and which of them are not zero at a moment.

import { svg, type SVGTemplateResult } from "lit-html";
import type { Cause, Frame, Ledger } from "./messages.ts";

export const LEAST_DEG = 0.05;

export function givenCauses(): Cause[] {
  const text = document.getElementById("causes")?.textContent;
  return text ? (JSON.parse(text) as Cause[]) : [];
}

export function partOf(ledger: Ledger, cause: Cause): number {
  return ledger[cause.key] ?? 0;
}

export function hasPart(frame: Frame, cause: Cause): boolean {
  return Math.abs(partOf(frame.ledger, cause)) >= LEAST_DEG;
}

/** Half of a scale about zero on which all bars fit: 2, 5, 10, 20, 45, 90, 180 and so on. */
export function halfScaleDeg(frame: Frame, causes: Cause[]): number {
  const most = Math.max(...causes.map((cause) => Math.abs(partOf(frame.ledger, cause))), Math.abs(frame.ledger["total_deg"] ?? 0));
  return [2, 5, 10, 20, 45, 90, 180, 360, 720].find((scale) => scale >= most) ?? most;
}

/** Patterns in each cause's ink; their ids start with the prefix. */
export function patterns(prefix: string, causes: Cause[]): SVGTemplateResult[] {
  return causes
    .filter((cause) => cause.pattern)
    .map(
      (cause) => svg`<pattern id=${`${prefix}-${cause.key}`} width="8" height="8" patternUnits="userSpaceOnUse"><path
        d=${cause.pattern} stroke=${cause.ink} stroke-width="1" opacity="0.75"/></pattern>`,
    );
}

/** A shape in a cause's colour and pattern. */
export function shape(prefix: string, cause: Cause, path: string): SVGTemplateResult {
  return svg`<path d=${path} fill=${cause.fill} stroke=${cause.ink} stroke-width="0.8"/>${
    cause.pattern ? svg`<path d=${path} fill=${`url(#${prefix}-${cause.key})`}/>` : ""
  }`;
}
