// The page on a student's phone: the present step, the student's own answers, and which were right.

import "./style.css";
import { html, nothing, type TemplateResult } from "lit-html";
import { Drafts } from "../../shared/drafts.ts";
import { guardLeaving, list, Outbox, outsideWords, type Sending, state as waitingWords } from "../../shared/outbox.ts";
import * as theme from "../../shared/theme.ts";
import type { CameLate, StudentView } from "../../lesson/messages.ts";
import { everySecond, hearTime, timeLeft } from "../../lesson/countdown.ts";
import { News } from "../../lesson/news.ts";
import { firstView, here, say, show } from "../../lesson/page.ts";
import { ownRose } from "../../lesson/rose.ts";
import { type Answering, type Draft, look, question, type State, told } from "../../lesson/views.ts";

const sitting = here().dataset["place"] ?? "";
let view = firstView<StudentView>() as StudentView;
const drafts = new Map<string, Draft>();
const { records = "", place = "", holder = "" } = here().dataset;
// Typed and not sent, in any step, stored on the device.
const typedHere = new Drafts<Draft>(records, place, holder);
const refused = new Map<string, string>();
// Answers the server has acknowledged and its view does not show yet.
const kept = new Map<string, { sending: Sending; atMs: number }>();
const VIEW_KNOWS_MS = 3000;
let shownMs = Date.now();
let shownStep = view.seen.step;

let news: News<StudentView> | null = null;
let isHeard = true;
// When the last view arrived.
let viewMs = 0;
// The code of why the server has no place for this browser.
let outside = "";

/** The line at the top: answers not sent yet, and the state of the connection. */
function line(): void {
  news?.wait(outbox.open);
  const away = outside ? outsideWords(outside, "lesson") : isHeard ? "" : "No connection; retrying.";
  say(waitingWords(outbox) || away);
  // What came late stands on the page itself, with the decision about it.
  list(outbox, document.getElementById("told") as HTMLElement, ["not taken"]);
}

/** The page stays and says so: a lesson may come back from the bin, and answers are sent then. */
function out(code: string): void {
  outside = code;
  draw();
}

const outbox = new Outbox(`/class/${sitting}/answer`, here(), {
  name: "lesson",
  changed: () => draw(),
  saved: (sending) => {
    const key = String(sending.what.key);
    const atMs = performance.now();
    kept.set(key, { sending, atMs });
    refused.delete(key);
    // Another tab may have answered since, as the latest view shows.
    window.setTimeout(() => {
      if (viewMs <= atMs || kept.get(key)?.sending !== sending) return;
      kept.delete(key);
      draw();
    }, VIEW_KNOWS_MS);
  },
});

/** A saved or waiting answer, as a draft. */
function known(key: string): { draft: Draft; state: State; words: string } {
  const waiting = outbox.of(key);
  const sent = waiting ?? kept.get(key)?.sending;
  const told = sent ? undefined : outbox.told.find((one) => one.what.key === key);
  const what = (sent ?? told)?.what as { place?: number; value?: number } | undefined;
  const given = what ? { place: what.place ?? -1, value: what.value ?? null } : view.own.given[key];
  const words = waiting?.fate === "unfit" ? `Not accepted: ${waiting.why}.` : told ? toldWords(told) : "";
  if (!given) return { draft: { place: -1, value: null, text: "" }, state: words ? "refused" : "none", words };
  const text = given.value === null ? "" : String(given.value).replace("-", "−");
  return { draft: { ...given, text }, state: words ? "refused" : waiting ? "waiting" : "kept", words };
}

function toldWords(one: Sending): string {
  return one.fate === "late" ? "Came late; the instructor will decide." : `Not accepted: ${one.why}.`;
}

/** An answer in the student's own words, shown if it is not accepted. */
function wordsOf(key: string, draft: Draft): string {
  const place = view.seen.questions.findIndex((one) => one.key === key);
  const question = view.seen.questions[place];
  const number = view.seen.questions.length > 1 ? `, question ${place + 1}` : "";
  const unit = question?.how === "dial" ? "°" : question?.unit ? ` ${question.unit}` : "";
  const value = draft.value === null ? "" : `${question?.how === "dial" ? String(draft.value).padStart(3, "0") : draft.text || draft.value}${unit}`;
  return `“${view.seen.heading}”${number}: ${draft.place >= 0 ? (question?.options[draft.place] ?? "") : value}`;
}

function send(key: string, draft: Draft): void {
  const seconds = Math.round((Date.now() - shownMs) / 100) / 10;
  const what = draft.place >= 0 ? { place: draft.place } : { value: draft.value ?? 0 };
  drafts.delete(key);
  refused.delete(key);
  kept.delete(key);
  outbox.put({ key, seconds, ...what }, wordsOf(key, draft));
  typedHere.drop(key);
}

function typed(text: string): number | null {
  const plain = text.trim().replace("°", "").replace("−", "-").replace(",", ".");
  const value = Number(plain);
  return plain === "" || !Number.isFinite(value) ? null : value;
}

function answering(key: string): Answering {
  const there = known(key);
  const draft = drafts.get(key) ?? there.draft;
  const put = (fresh: Draft): void => {
    drafts.set(key, fresh);
    if (fresh.value === null && !fresh.text.trim()) typedHere.drop(key);
    else typedHere.keep(key, fresh);
    refused.delete(key);
    draw();
  };
  return {
    draft,
    isSaved: there.state === "kept",
    state: drafts.has(key) ? "draft" : refused.has(key) ? "refused" : there.state,
    words: refused.get(key) ?? (drafts.has(key) ? "" : there.words),
    choose: (place) => send(key, { place, value: null, text: "" }),
    turn: (value) => put({ place: -1, value, text: "" }),
    type: (text) => put({ place: -1, value: typed(text), text }),
    send: () => {
      if (draft.value !== null) return send(key, draft);
      refused.set(key, "This is not a number. Enter one such as 274 or 3.5.");
      return draw();
    },
  };
}

const DECIDED: { [state in CameLate["state"]]: string } = {
  waiting: "the instructor will decide",
  taken: "it was accepted",
  "not taken": "it was not accepted",
};

function cameLate(one: CameLate): TemplateResult {
  return html`<p class="late-own" role="status" data-state=${one.state}>Your answer to ${one.where}, <strong>${one.words}</strong>, came late; ${DECIDED[one.state]}.</p>`;
}

function body(): TemplateResult {
  const { seen, own } = view;
  if (seen.kind === "over") return html`<h1>The lesson is over</h1><p>Thank you for your answers.</p>${own.late.map(cameLate)}`;
  if (seen.kind === "") return html`<h1>You are in</h1>${ownRose(own.before)}`;
  const closed = seen.phase !== "open";
  const asked = own.told.length ? [] : seen.questions;
  return html`${own.late.map(cameLate)}<p class="meta">${seen.step + 1} of ${seen.steps}</p><h1>${seen.heading}</h1>
    ${own.expects.map((words) => html`<p class="cl-expects">You answered <strong>${words}</strong></p>`)}
    ${look(seen, own.told.length > 0)}
    ${asked.length && !closed ? timeLeft(seen.countdown_utc) : nothing}
    ${asked.map((one, index) => question(one, index + 1, closed, answering(one.key)))}
    ${asked.length && closed ? html`<p class="look-up">Look at the projector.</p>` : nothing}
    ${own.told.map((one, index) => told(one, index + 1))}`;
}

function draw(): void {
  show(body());
  line();
}

/** What was typed before this page was loaded, or before the lesson moved on. */
function recall(): void {
  drafts.clear();
  for (const one of typedHere.all()) drafts.set(one.key, one.thing);
}

function came(fresh: StudentView): void {
  outside = "";
  const moved = fresh.seen.step !== shownStep;
  if (moved) {
    shownStep = fresh.seen.step;
    shownMs = Date.now();
    recall();
    refused.clear();
    // The view shows what was acknowledged in an earlier step.
    kept.clear();
  }
  // A view made just before an answer was saved lacks it; a later view is right.
  for (const [key, one] of kept) if (performance.now() - one.atMs > VIEW_KNOWS_MS) kept.delete(key);
  const again = fresh.seen.phase === "open" && view.seen.phase !== "open";
  if (again) refused.clear();
  view = fresh;
  viewMs = performance.now();
  const decided = fresh.own.late.filter((one) => one.state !== "waiting").map((one) => one.key);
  for (const one of outbox.told) if (one.fate === "late" && decided.includes(String(one.what.key))) outbox.drop(one.sent);
  draw();
  if (moved) scrollTo({ top: 0 });
}

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
guardLeaving(document.getElementById("leave") as HTMLFormElement | null, outbox);
news = new News<StudentView>(`/class/${sitting}`, {
  came,
  heard: (is) => {
    isHeard = is;
    line();
  },
  out,
  time: (ms) => {
    outbox.clock.hear(ms);
    hearTime(ms);
  },
});
everySecond(() => view.seen.countdown_utc, draw);
recall();
draw();
