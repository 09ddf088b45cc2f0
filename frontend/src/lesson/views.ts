// Parts of the page on the phone.

import { html, nothing, type TemplateResult } from "lit-html";
import { unsafeHTML } from "lit-html/directives/unsafe-html.js";
import { compared, turnable } from "./dial.ts";
import type { Question, Seen, Told } from "./messages.ts";

export interface Draft {
  /** Of an option, in the order in which they stand. */
  place: number;
  value: number | null;
  /** The text typed, which may not be a number yet. */
  text: string;
}

export type State = "none" | "draft" | "waiting" | "kept" | "refused";

export interface Answering {
  draft: Draft;
  state: State;
  /** The server has an answer, perhaps an earlier one than in the field. */
  isSaved: boolean;
  words: string;
  choose: (place: number) => void;
  turn: (deg: number) => void;
  type: (text: string) => void;
  send: () => void;
}

export const LETTERS = "ABCDEFGH";
const SAID: { [state in State]: string } = {
  none: "",
  draft: "Not sent yet: press Send the answer.",
  waiting: "Not sent yet.",
  kept: "Saved. You can change it until answers are closed.",
  refused: "",
};

/** HTML the server made from Markdown; everything else in it is escaped. */
export const marked = (text: string): TemplateResult => html`<div class="cl-words">${unsafeHTML(text)}</div>`;

function picture(question: Question): TemplateResult | typeof nothing {
  if (!question.figure) return nothing;
  return html`<img class="cl-figure" alt=${question.alt} src=${`data:image/svg+xml,${encodeURIComponent(question.figure)}`}>`;
}

function options(question: Question, closed: boolean, answering: Answering): TemplateResult {
  return html`<fieldset class="cl-options" ?disabled=${closed}>
    <legend class="unseen">Your answer</legend>
    ${question.options.map(
      (text, place) => html`<label class="cl-option">
        <input type="radio" name=${question.key} .checked=${answering.draft.place === place} @change=${() => answering.choose(place)}>
        <span class="cl-letter">${LETTERS[place]}</span><span>${text}</span></label>`,
    )}</fieldset>`;
}

function number(question: Question, closed: boolean, answering: Answering): TemplateResult {
  const id = `number-${question.key}`;
  return html`<div class="cl-number"><label for=${id}>Your answer${question.unit ? html`, in ${question.unit}` : nothing}</label>
    <input id=${id} type="text" inputmode="text" autocomplete="off" maxlength="20" ?disabled=${closed} .value=${answering.draft.text}
      @input=${(event: Event) => answering.type((event.target as HTMLInputElement).value)}
      @keydown=${(event: KeyboardEvent) => event.key === "Enter" && answering.send()}></div>`;
}

function answerField(question: Question, closed: boolean, answering: Answering): TemplateResult {
  if (question.how === "options") return options(question, closed, answering);
  if (question.how === "dial") return turnable("Your answer: turn the card", answering.draft.value, closed, answering.turn);
  return number(question, closed, answering);
}

function closedWords({ state, isSaved }: Answering): string {
  if (state === "kept") return "Saved. Answers are closed.";
  if (state !== "draft") return "Answers are closed.";
  return isSaved ? "This was not sent. Answers are closed; the answer saved before counts." : "This was not sent. Answers are closed.";
}

export function question(one: Question, place: number, closed: boolean, answering: Answering): TemplateResult {
  const { draft, state } = answering;
  const hasButton = one.how !== "options" && !closed;
  const isReady = one.how === "dial" ? draft.value !== null : draft.text.trim() !== "";
  const words = closed && state !== "waiting" ? closedWords(answering) : SAID[state];
  return html`<section class="cl-question" aria-label=${`Question ${place}`}>
    ${marked(one.html)} ${picture(one)} ${answerField(one, closed, answering)}
    ${hasButton
      ? html`<button type="button" class="act" ?disabled=${!isReady || state === "kept" || state === "waiting"} @click=${answering.send}>
          ${state === "kept" ? "Saved" : "Send the answer"}</button>`
      : nothing}
    <p class="cl-state" role="status" data-state=${state}>${answering.words || words}</p>
  </section>`;
}

function amount(one: Told): TemplateResult | typeof nothing {
  if (one.how !== "dial" || one.truth_value === null) return nothing;
  return compared(one.truth_value, one.own_value);
}

export function told(one: Told, place: number): TemplateResult {
  return html`<section class="cl-told" aria-label=${`Correct answer ${place}`}>
    <details><summary>The question</summary>${marked(one.heading)}</details>
    <p class="cl-verdict" data-right=${one.right}>${one.right ? "Right." : one.own ? "Wrong." : "You gave no answer."}</p>
    <dl>${one.own ? html`<div><dt>Your answer</dt><dd>${one.own}</dd></div>` : nothing}
      <div><dt>Correct answer</dt><dd>${one.truth}</dd></div></dl>
    ${amount(one)}
    ${one.idea ? html`<p>Your answer fits the idea: <q>${one.idea}</q></p>` : nothing}
    <p class="cl-why">${one.why}</p>
  </section>`;
}

export function look(seen: Seen, hasMore: boolean): TemplateResult {
  return html`${seen.html ? marked(seen.html) : nothing}
    ${seen.looks_up && !hasMore ? html`<p class="look-up">Look at the projector.</p>` : nothing}`;
}
