// Parts named in texts: a press on the name makes the part glow, and brings the eye there.

import { html, type TemplateResult } from "lit-html";
import type { Look, Part } from "../cutaway/index.ts";
import type { Cutaway } from "./cutaway.ts";
import type { Piece } from "./messages.ts";

/** A name breaks across lines like the words around it, which a button would not. */
export function pieces(of: readonly Piece[]): (string | TemplateResult)[] {
  return of.map(({ text, part }) => (part ? html`<a class="part" href="#cutaway" data-part=${part}>${text}</a>` : text));
}

/** The look at the rotor is one at the whole gyro; a part that is meant is seen closer. */
const CLOSER: Partial<Record<Part, Look>> = { rotor: "buckets" };

/** Brings the eye to a part and lets it glow; `null` is the whole instrument. */
export function bring(cutaway: Cutaway, part: Part | null): void {
  cutaway.speakOf(part);
  cutaway.lookAt(part ? (CLOSER[part] ?? part) : "whole");
}

export function listenParts(cutaway: Cutaway, brought: (part: Part | null) => void = () => undefined): void {
  document.addEventListener("click", (event) => {
    const part = (event.target as Element).closest<HTMLElement>("[data-part]")?.dataset["part"] as Part | undefined;
    if (!part) return;
    event.preventDefault();
    bring(cutaway, part);
    brought(part);
  });
}
