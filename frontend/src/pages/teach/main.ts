// The instructor's own view of a lesson: notes, who has answered, what comes next, and what to press.

import "./style.css";
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { Act, InstructorView } from "../../lesson/messages.ts";
import { News } from "../../lesson/news.ts";
import { ask, plain } from "../../shared/request.ts";
import { firstView, here, say, show } from "../../lesson/page.ts";
import { marked } from "../../lesson/views.ts";
import { type Contact, FINE, numbersOf, tell } from "../../shared/outage.ts";
import * as theme from "../../shared/theme.ts";
import { spread } from "../../lesson/spread.ts";

const KEYS: { [key: string]: string } = { b: "back", o: "open", t: "tell" };
const sitting = here().dataset["sitting"] ?? "";
let view: InstructorView | null = firstView<InstructorView>();
let moving = false;
let contact: Contact = FINE;
let heard = true;
let wasAway = false;

/** Why something was not done; '' where it was. */
async function refusal(response: Response): Promise<string> {
  if (response.ok) return "";
  const wrong = (await plain<{ error?: { wrong?: string } }>(response))?.error?.wrong;
  if (response.status !== 503 || !wrong) return "That was not done. Press again.";
  return `That was not done: ${wrong}. Press again when the red line is gone.`;
}

async function move(act: Act): Promise<void> {
  if (!view || moving) return;
  if (act.do === "end" && !confirm("End the lesson? Nobody can answer or join after it.")) return;
  moving = true;
  const { step, phase } = view.projector.seen;
  try {
    const body = JSON.stringify({ do: act.do, step, phase });
    const response = await ask(`/teach/${sitting}/move`, { method: "POST", headers: { "content-type": "application/json" }, body });
    if (response.status === 409) say("The lesson had moved on; this is where it stands.");
    else say(await refusal(response));
  } catch {
    say("That was not done: no connection to the server.");
  } finally {
    moving = false;
    news?.look();
  }
}

function minutes(value: number): string {
  return `${Math.round(value)} min`;
}

/** A planned time, which goes by half minutes. */
function planned(value: number): string {
  return `${Math.round(2 * value) / 2} min`;
}

function times(): void {
  const place = document.getElementById("times");
  if (!view || !place) return;
  const passed = (Date.now() - Date.parse(view.opened_utc)) / 60_000;
  const plan = view.projector.seen.step < 0 ? "" : `, by plan ${planned(view.minutes_before)} at this step`;
  place.textContent = view.projector.seen.kind === "over" ? "over" : `${minutes(Math.max(0, passed))} since opening${plan}, ${minutes(view.minutes_all)} in all`;
}

function buttons(acts: Act[]): TemplateResult {
  const [first, ...others] = acts;
  if (!first) return html`<p>The lesson is over. <a href="/results">Results</a></p>`;
  return html`<div class="cl-acts" role="group" aria-label="Lead the lesson">
    <button type="button" class="act" id="next" @click=${() => void move(first)}>${first.words} <kbd>Space</kbd></button>
    ${repeat(others, (act) => act.do, (act) => html`<button type="button" data-act=${act.do} @click=${() => void move(act)}>${act.words}</button>`)}
  </div>`;
}

function whoAnswered(lead: InstructorView): TemplateResult {
  const asked = lead.projector.seen.questions.length;
  const words = asked ? `${lead.projector.answered} of ${lead.projector.joined} have answered` : `${lead.projector.joined} in class`;
  const numbers = numbersOf(contact.silent.length, contact.waiting);
  return html`<section class="in-class" aria-labelledby="in-class"><h2 id="in-class">${words}</h2>
    ${numbers ? html`<p class="unheard">${numbers}.</p>` : nothing}
    <ul>${lead.students.map(
      (one) => html`<li data-done=${asked > 0 && one.answered >= asked}>${one.name}${
        asked ? html` <span class="meta">${one.answered >= asked ? "✓ answered" : asked > 1 ? `${one.answered} of ${asked}` : "waiting"}</span>` : nothing
      }${contact.silent.indexOf(one.name) >= 0 ? html` <span class="unheard">silent</span>` : nothing}</li>`,
    )}</ul></section>`;
}

async function decide(act: "take" | "leave", at?: number): Promise<void> {
  const body = new URLSearchParams(at === undefined ? { do: act } : { do: act, at: String(at) });
  try {
    const response = await ask(`/sittings/${sitting}/late`, { method: "POST", body, redirect: "follow" });
    say(await refusal(response));
  } catch {
    say("That was not done: no connection to the server.");
  } finally {
    news?.look();
  }
}

function cameLate(lead: InstructorView): TemplateResult | typeof nothing {
  const count = lead.late.length;
  if (!count) return nothing;
  return html`<section class="warning late" aria-labelledby="late"><h2 id="late">${count} ${count === 1 ? "answer" : "answers"} came late</h2>
    <p>Given in time by the device’s own clock. They count only if you take them.</p>
    <ul>${repeat(
      lead.late,
      (one) => one.at,
      (one) => html`<li><strong>${one.name}</strong>, ${one.where}: <strong>${one.words}</strong> (so far: ${one.now})
        <span class="meta">Given at ${one.given_utc.slice(11, 19)} by the device’s clock; last contact with the server ${one.heard_utc.slice(11, 19)}; received ${one.came_utc.slice(11, 19)} (UTC).${
          one.apart_min ? ` The device’s two clocks differ by ${one.apart_min} min.` : ""
        }</span>
        <span class="buttons"><button type="button" @click=${() => void decide("take", one.at)}>Take</button>
        <button type="button" class="quiet" @click=${() => void decide("leave", one.at)}>Do not take</button></span></li>`,
    )}</ul>
    ${count > 1
      ? html`<p class="buttons"><button type="button" @click=${() => void decide("take")}>Take all ${count}</button>
          <button type="button" class="quiet" @click=${() => void decide("leave")}>Take none</button></p>`
      : nothing}</section>`;
}

function toCome(lead: InstructorView): TemplateResult {
  return html`<section aria-labelledby="to-come"><h2 id="to-come">To come</h2>
    <ol class="to-come">${lead.to_come.slice(0, 6).map(([kind, heading, min]) => html`<li><span class="kind">${kind}</span> ${heading}${min ? html` <span class="meta">${planned(min)}</span>` : nothing}</li>`)}</ol></section>`;
}

function body(lead: InstructorView): TemplateResult {
  const { seen, ghosts } = lead.projector;
  const place = seen.step < 0 ? "The class joins" : `${seen.step + 1} of ${seen.steps}: ${seen.kind === "over" ? "over" : seen.kind}${lead.minutes ? `, ${planned(lead.minutes)}` : ""}`;
  return html`<div class="cl-leading">
    <div class="cl-now">
      <p class="meta">${place}</p>
      <h1>${seen.heading || seen.title}</h1>
      ${buttons(lead.acts)}
      ${lead.notes ? html`<section class="cl-notes" aria-label="Notes">${marked(lead.notes)}</section>` : nothing}
      <div class="cl-said">${lead.text ? marked(lead.text) : nothing}</div>
      ${ghosts.length ? html`<p>Beside the truth: ${ghosts.map((one, index) => html`${index ? "; " : ""}<q>${one.statement}</q> (${one.count})`)}</p>` : nothing}
    </div>
    <div class="cl-aside">${cameLate(lead)} ${whoAnswered(lead)}
      ${lead.spreads.map((one, index) => html`<section class="cl-spread" aria-label=${`Answers to question ${index + 1}, for you alone`}>${spread(one)}</section>`)}
      ${toCome(lead)}</div>
  </div>`;
}

/** What is away, for as long as it is. */
function red(): void {
  const keep = "The phones keep their answers and send them again.";
  const numbers = numbersOf(contact.silent.length, contact.waiting);
  const isAway = !heard || contact.away !== "";
  // What could not be done meanwhile is told for as long.
  if (wasAway && !isAway) say("");
  wasAway = isAway;
  if (!heard) tell(`No connection to the server. ${keep}`, numbers);
  else if (contact.away) tell(`Answers are not being saved: ${contact.words}. ${keep}`, numbers);
  else tell("");
}

function draw(): void {
  if (!view) return;
  show(body(view));
  times();
}

function pressed(event: KeyboardEvent): void {
  const target = event.target as Element;
  if (!view || event.ctrlKey || event.metaKey || event.altKey || target.closest("input")) return;
  if (event.key === " " && target.closest("button, a")) return;
  const wanted = event.key === " " || event.key === "PageDown" || event.key === "ArrowRight" ? view.acts[0]?.do : KEYS[event.key];
  const act = view.acts.find((one) => one.do === wanted);
  if (!act) return;
  event.preventDefault();
  void move(act);
}

/** After a button was pressed with a finger or a mouse, the space bar does what comes next again, not the same once more. */
function toNext(event: MouseEvent): void {
  if (event.detail > 0 && (event.target as Element).closest("button")) document.getElementById("next")?.focus({ preventScroll: true });
}

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
let news: News<InstructorView> | null = null;
let isGone = false;
if (view) {
  news = new News<InstructorView>(`/teach/${sitting}`, {
    came: (fresh) => {
      if (isGone) say("");
      isGone = false;
      view = fresh;
      draw();
    },
    heard: (is) => {
      heard = is;
      red();
    },
    contact: (fresh) => {
      // While the records are away the phones are counted by those that were in before.
      contact = fresh;
      red();
      draw();
    },
    out: () => {
      isGone = true;
      say("The server does not have this lesson.");
    },
  });
  addEventListener("keydown", pressed);
  addEventListener("click", toNext);
  window.setInterval(times, 5000);
  draw();
}
