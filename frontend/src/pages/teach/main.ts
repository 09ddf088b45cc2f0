// The instructor's page of a lesson: notes, who has answered, the next steps and the buttons.

import "./style.css";
import { html, nothing, type TemplateResult } from "lit-html";
import { repeat } from "lit-html/directives/repeat.js";
import type { Act, InstructorView } from "../../lesson/messages.ts";
import { everySecond, hearTime, timeLeft } from "../../lesson/countdown.ts";
import { News } from "../../lesson/news.ts";
import { ask, plain } from "../../shared/request.ts";
import { firstView, here, say, show } from "../../lesson/page.ts";
import { LETTERS, marked } from "../../lesson/views.ts";
import { type Contact, FINE, numbersOf, tell } from "../../shared/outage.ts";
import * as theme from "../../shared/theme.ts";
import { spread } from "../../lesson/spread.ts";

const KEYS: { [key: string]: string } = { b: "back", o: "open", t: "tell" };
const sitting = here().dataset["sitting"] ?? "";
let view: InstructorView | null = firstView<InstructorView>();
let moving = false;
const COUNTDOWNS_S = [30, 60, 90];
let closes = false;
let contact: Contact = FINE;
let heard = true;
let wasAway = false;

/** Why something was not done; '' where it was. */
async function refusal(response: Response): Promise<string> {
  if (response.ok) return "";
  const wrong = (await plain<{ error?: { wrong?: string } }>(response))?.error?.wrong;
  if (response.status !== 503 || !wrong) return "Not done. Press again.";
  return `Not done: ${wrong}. Press again when the red line is gone.`;
}

/** What an action would cut off, as a question; '' where nothing. */
function doubt(act: Act): string {
  const { questions, phase } = view?.projector.seen ?? { questions: [], phase: "closed" };
  const numbers = numbersOf(contact.silent.length, contact.waiting);
  const cuts = questions.length > 0 && phase === "open" && act.do !== "back" && numbers !== "";
  const open = cuts ? `${numbers}. What comes after the close counts only if you accept it. ` : "";
  if (act.do === "end") return `${open}End the lesson? After that, nobody can answer or join.`;
  return open && `${open}Close the answers?`;
}

async function move(act: Act): Promise<void> {
  const words = doubt(act);
  if (words && !confirm(words)) return;
  await send({ do: act.do });
}

async function send(what: { do: string; to?: number; closes?: boolean }): Promise<void> {
  if (!view || moving) return;
  moving = true;
  const { step, phase } = view.projector.seen;
  try {
    const body = JSON.stringify({ ...what, step, phase });
    const response = await ask(`/teach/${sitting}/move`, { method: "POST", headers: { "content-type": "application/json" }, body });
    if (response.status === 409) say("The lesson had already moved on. This page shows the present step.");
    else say(await refusal(response));
  } catch {
    say("Not done: no connection to the server. Press again.");
  } finally {
    moving = false;
    news?.look();
  }
}

function minutes(value: number): string {
  return `${Math.round(value)} min`;
}

/** A planned time, to half a minute. */
function planned(value: number): string {
  return `${Math.round(2 * value) / 2} min`;
}

function times(): void {
  const place = document.getElementById("times");
  if (!view || !place) return;
  const passed = (Date.now() - Date.parse(view.opened_utc)) / 60_000;
  const plan = view.projector.seen.step < 0 ? "" : `, planned ${planned(view.minutes_before)} at this step`;
  place.textContent = view.projector.seen.kind === "over" ? "over" : `${minutes(Math.max(0, passed))} since opening${plan}, ${minutes(view.minutes_all)} in total`;
}

/** What a press leads to, in words. */
function leadsTo(act: Act, lead: InstructorView): TemplateResult | typeof nothing {
  const [kind, heading, min] = lead.to_come[0] ?? ["", "", 0];
  if (act.do !== "next" || !kind) return nothing;
  return html`<span class="cl-leads"><span class="kind">${kind}</span> ${heading}${min ? html` <span class="min">${planned(min)}</span>` : nothing}</span>`;
}

function buttons(lead: InstructorView): TemplateResult {
  const [first, ...others] = lead.acts;
  if (!first) return html`<p>The lesson is over. <a href="/results">Results</a></p>`;
  return html`<div class="cl-acts" role="group" aria-label="Lesson controls">
    <button type="button" class="act" id="next" @click=${() => void move(first)}><span class="cl-do">${first.words} <kbd>Space</kbd></span>${leadsTo(first, lead)}</button>
    ${repeat(others, (act) => act.do, (act) => html`<button type="button" class="quiet" data-act=${act.do} @click=${() => void move(act)}>${act.words}</button>`)}
  </div>${counting(lead)}`;
}

/** Starts a countdown for the class; the server closes the question at its end only if asked to. */
function counting(lead: InstructorView): TemplateResult | typeof nothing {
  const { seen } = lead.projector;
  if (!seen.questions.length || seen.phase !== "open") return nothing;
  return html`<div class="cl-counting" role="group" aria-label="Countdown">
    ${seen.countdown_utc
      ? html`${timeLeft(seen.countdown_utc)}<button type="button" class="quiet" data-count="0" @click=${() => void send({ do: "count", to: 0 })}>Stop the countdown</button>`
      : html`<span>Countdown</span>${COUNTDOWNS_S.map(
          (to) => html`<button type="button" class="quiet" data-count=${to} @click=${() => void send({ do: "count", to, closes })}>${to} s</button>`,
        )}`}
    <label><input type="checkbox" id="closes" .checked=${seen.countdown_utc ? lead.closes_utc !== "" : closes} ?disabled=${seen.countdown_utc !== ""}
      @change=${(event: Event) => (closes = (event.target as HTMLInputElement).checked)}> then close the answers</label></div>`;
}

/** Whether the answers to the one question are drawn for the room already. */
function roomHas(lead: InstructorView): boolean {
  const { seen, spreads } = lead.projector;
  return seen.kind === "predict" && seen.phase !== "open" && spreads.length > 0;
}

/** How many of the step's questions the school wrote, for the instructor. */
const ownOf = (lead: InstructorView): string => (lead.own.length ? `, ${lead.own.length} of them your own` : "");

/** What the room sees at the moment, small. */
function room(lead: InstructorView): TemplateResult {
  const { seen, show: shown, stage, ghosts, spreads, html: text } = lead.projector;
  const [only] = seen.questions;
  const words = { ready: "waits at its start", playing: "plays", done: "stands still" }[stage];
  const isAsking = seen.kind === "predict" || seen.kind === "quiz";
  const fills = isAsking && seen.phase !== "open";
  const [first] = spreads;
  const picture = shown && !fills ? html`<figure class="cl-picture">${shown.scene ? html`<img src="/scenes/${shown.scene}/picture.svg" alt="">` : nothing}<figcaption>${shown.scene.replace(/_/g, " ") || "the bench"}: ${words}</figcaption></figure>` : nothing;
  const title = html`<p class="cl-title">${seen.kind === "" ? "The code to join" : seen.kind === "over" ? "The lesson is over" : seen.heading}</p>`;
  const screen = fills && first
    ? html`<div class="cl-screen" data-fills="true"><div>${title}${seen.kind === "quiz" ? html`<p>The answers to ${spreads.length} questions${ownOf(lead)}</p>` : spread(first)}</div></div>`
    : html`<div class="cl-screen">
      <div>${title}
      ${isAsking ? (seen.questions.length === 1 && only ? marked(only.html) : html`<p>${seen.questions.length} questions on the phones${ownOf(lead)}</p>`) : text ? marked(text) : nothing}
      ${seen.phase === "open" && only?.options.length && seen.questions.length === 1 ? html`<ol class="cl-choices">${only.options.map((one, place) => html`<li><strong>${LETTERS[place]}</strong> ${one}</li>`)}</ol>` : nothing}
      ${ghosts.length ? html`<ul class="cl-choices">${ghosts.map((one) => html`<li><strong>${one.name}</strong> <q>${one.statement}</q> ${one.count ? `${one.count} of the class` : nothing}</li>`)}</ul>` : nothing}</div>
      <div>${picture}${first ? html`<p class="cl-picture">the answers</p>` : nothing}</div>
    </div>`;
  return html`<section class="cl-room" aria-labelledby="room"><h2 id="room">The room sees</h2>${screen}</section>`;
}

function whoAnswered(lead: InstructorView): TemplateResult {
  const asked = lead.projector.seen.questions.length;
  const words = asked ? `${lead.projector.answered} of ${lead.projector.joined} have answered` : `${lead.projector.joined} in class`;
  const numbers = numbersOf(contact.silent.length, contact.waiting);
  const away = (name: string): boolean => contact.silent.indexOf(name) >= 0;
  const note = (one: { name: string; answered: number }): TemplateResult | typeof nothing =>
    away(one.name) ? html` <span class="unheard">not responding</span>` : asked > 1 && one.answered < asked ? html` <span class="meta">${one.answered} of ${asked}</span>` : nothing;
  const isSilent = (one: { name: string; answered: number }): boolean => (asked ? one.answered < asked : away(one.name));
  const names = (ones: InstructorView["students"]): TemplateResult => html`<ul>${ones.map((one) => html`<li>${one.name}${note(one)}</li>`)}</ul>`;
  const silent = lead.students.filter(isSilent);
  const others = lead.students.filter((one) => !isSilent(one));
  return html`<section class="in-class" aria-labelledby="in-class"><h2 id="in-class">${words}</h2>
    ${numbers ? html`<p class="unheard">${numbers}.</p>` : nothing}
    ${silent.length ? html`<div class="cl-silent"><h3>${asked ? "Silent" : "Not responding"}: ${silent.length}</h3>${names(silent)}</div>` : nothing}
    ${others.length ? html`<h3>${asked ? `Answered: ${others.length}` : "Present"}</h3>${names(others)}` : nothing}</section>`;
}

async function decide(act: "take" | "leave", at?: number): Promise<void> {
  const body = new URLSearchParams(at === undefined ? { do: act } : { do: act, at: String(at) });
  try {
    const response = await ask(`/sittings/${sitting}/late`, { method: "POST", body, redirect: "follow" });
    say(await refusal(response));
  } catch {
    say("Not done: no connection to the server. Press again.");
  } finally {
    news?.look();
  }
}

function cameLate(lead: InstructorView): TemplateResult | typeof nothing {
  const waiting = lead.late.filter((one) => one.state === "waiting");
  const count = waiting.length;
  return html`${count ? undecided(waiting, count) : nothing}${rejected(lead.late.filter((one) => one.state === "not taken"))}`;
}

/** The way back from a rejection. */
function rejected(late: InstructorView["late"]): TemplateResult | typeof nothing {
  if (!late.length) return nothing;
  return html`<details class="late"><summary>Rejected late answers: ${late.length}</summary>
    <ul>${late.map((one) => html`<li><strong>${one.name}</strong>, ${one.where}: <strong>${one.words}</strong> (so far: ${one.now})
      <button type="button" class="quiet" @click=${() => void decide("take", one.at)}>Accept after all</button></li>`)}</ul></details>`;
}

function undecided(waiting: InstructorView["late"], count: number): TemplateResult {
  return html`<section class="warning late" aria-labelledby="late"><h2 id="late">${count} ${count === 1 ? "answer" : "answers"} came late</h2>
    <p>Given in time according to the device’s own clock. They count only if you accept them.</p>
    <ul>${repeat(
      waiting,
      (one) => one.at,
      (one) => html`<li><strong>${one.name}</strong>, ${one.where}: <strong>${one.words}</strong> (so far: ${one.now})
        <span class="meta">Given at ${one.given_utc.slice(11, 19)} (device’s clock); last contact with the server ${one.heard_utc.slice(11, 19)}; received ${one.came_utc.slice(11, 19)} (UTC).${
          one.apart_min ? ` The device’s two clocks differ by ${one.apart_min} min.` : ""
        }</span>
        <span class="buttons"><button type="button" @click=${() => void decide("take", one.at)}>Accept</button>
        <button type="button" class="quiet" @click=${() => void decide("leave", one.at)}>Reject</button></span></li>`,
    )}</ul>
    ${count > 1
      ? html`<p class="buttons"><button type="button" @click=${() => void decide("take")}>Accept all ${count}</button>
          <button type="button" class="quiet" @click=${() => void decide("leave")}>Reject all</button></p>`
      : nothing}</section>`;
}

function toCome(lead: InstructorView): TemplateResult | typeof nothing {
  if (!lead.to_come.length) return nothing;
  return html`<section aria-labelledby="to-come"><h2 id="to-come">Next steps</h2>
    <ol class="to-come">${lead.to_come.slice(0, 6).map(([kind, heading, min]) => html`<li><span class="kind">${kind}</span> ${heading}${min ? html` <span class="meta">${planned(min)}</span>` : nothing}</li>`)}</ol></section>`;
}

function body(lead: InstructorView): TemplateResult {
  const { seen } = lead.projector;
  const place = seen.step < 0 ? "Joining" : `${seen.step + 1} of ${seen.steps}: ${seen.kind === "over" ? "over" : seen.kind}${lead.minutes ? `, ${planned(lead.minutes)}` : ""}`;
  return html`<div class="cl-leading">
    <div class="cl-now">
      <p class="meta">${place}</p>
      <h1>${seen.heading || seen.title}</h1>
      ${buttons(lead)}
      ${lead.notes ? html`<section class="cl-notes" aria-label="Notes">${marked(lead.notes)}</section>` : nothing}
      ${lead.text ? html`<section class="cl-said" aria-label="What to say">${marked(lead.text)}</section>` : nothing}
    </div>
    <div class="cl-aside">${room(lead)} ${whoAnswered(lead)} ${cameLate(lead)}
      ${lead.spreads.map((one, index) => html`<section class="cl-spread" aria-label=${`Answers to question ${index + 1}, for you only`}><h2>Answers, for you only</h2>${spread(one, !roomHas(lead))}</section>`)}
      ${toCome(lead)}</div>
  </div>`;
}

/** The red line while the server or the records cannot be reached. */
function red(): void {
  const keep = "The phones keep their answers and send them again.";
  const numbers = numbersOf(contact.silent.length, contact.waiting);
  const isAway = !heard || contact.away !== "";
  // A message about what could not be done stays for as long.
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

/** After a button was pressed by finger or mouse, the space bar presses the main button, not the same one again. */
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
      const before = view?.projector.seen;
      const hasMoved = before?.step !== fresh.projector.seen.step || before.phase !== fresh.projector.seen.phase;
      view = fresh;
      draw();
      // What comes next is at the top, whatever was looked at below.
      if (hasMoved) scrollTo({ top: 0 });
    },
    heard: (is) => {
      heard = is;
      red();
    },
    contact: (fresh) => {
      // While the records cannot be reached, the phones are compared with the last list of students.
      contact = fresh;
      red();
      draw();
    },
    time: hearTime,
    out: () => {
      isGone = true;
      say("The server no longer has this lesson.");
    },
  });
  everySecond(() => view?.projector.seen.countdown_utc ?? "", draw);
  addEventListener("keydown", pressed);
  addEventListener("click", toNext);
  window.setInterval(times, 5000);
  draw();
}
