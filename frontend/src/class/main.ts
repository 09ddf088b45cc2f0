// The page on a student's phone: what the class does now, one's own answers, and in private what was right.

import "../styles/base.css";
import "../styles/layout.css";
import "../styles/form.css";
import "./class.css";
import { html, nothing, type TemplateResult } from "lit-html";
import * as theme from "../theme.ts";
import type { StudentView } from "./messages.ts";
import { News } from "./news.ts";
import { firstView, here, say, show } from "./page.ts";
import { freshId, Queue, type Sending } from "./queue.ts";
import { type Answering, type Draft, look, question, type State, told } from "./views.ts";

const sitting = here().dataset["sitting"] ?? "";
let view = firstView<StudentView>() as StudentView;
const drafts = new Map<string, Draft>();
const refused = new Map<string, string>();
// What the server said that it has, before its view says so, too.
const kept = new Map<string, Sending>();
const VIEW_KNOWS_MS = 3000;
let shownMs = Date.now();
let shownStep = view.seen.step;

const reached = { heard: true, stuck: false };

function connection(fresh: Partial<typeof reached>): void {
  Object.assign(reached, fresh);
  const fine = reached.heard && !reached.stuck;
  say(fine ? "" : "No connection. Your answers are kept here and sent when it is back.");
}

function out(): void {
  location.replace("/join");
}

const queue = new Queue(`/class/${sitting}/answer`, `answers-${sitting}-${view.own.name}`, {
  kept: (sending) => {
    kept.set(sending.key, sending);
    // A view made just before an answer was kept does not know of it; soon after, the view knows best.
    window.setTimeout(() => {
      if (kept.get(sending.key) === sending) kept.delete(sending.key);
      draw();
    }, VIEW_KNOWS_MS);
    refused.delete(sending.key);
    draw();
  },
  refused: (sending, words) => {
    refused.set(sending.key, `Not taken: ${words}.`);
    drafts.delete(sending.key);
    draw();
  },
  out,
  stuck: (is) => connection({ stuck: is }),
});

/** What is kept or on its way, as somebody would have drafted it. */
function known(key: string): { draft: Draft; state: State } {
  const waiting = queue.of(key);
  const sent = waiting ?? kept.get(key);
  const given = sent ? { chosen: sent.chosen ?? -1, value: sent.value ?? null } : view.own.given[key];
  if (!given) return { draft: { chosen: -1, value: null, text: "" }, state: "none" };
  const text = given.value === null ? "" : String(given.value).replace("-", "−");
  return { draft: { ...given, text }, state: waiting ? "waiting" : "kept" };
}

function send(key: string, draft: Draft): void {
  const seconds = Math.round((Date.now() - shownMs) / 100) / 10;
  const what = draft.chosen >= 0 ? { chosen: draft.chosen } : { value: draft.value ?? 0 };
  drafts.delete(key);
  refused.delete(key);
  queue.put({ key, sent: freshId(), seconds, ...what });
  draw();
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
    refused.delete(key);
    draw();
  };
  return {
    draft,
    state: drafts.has(key) ? "draft" : refused.has(key) ? "refused" : there.state,
    words: refused.get(key) ?? "",
    choose: (chosen) => send(key, { chosen, value: null, text: "" }),
    turn: (value) => put({ chosen: -1, value, text: "" }),
    type: (text) => put({ chosen: -1, value: typed(text), text }),
    send: () => {
      if (draft.value !== null) return send(key, draft);
      refused.set(key, "This is no number. Give one such as 274 or 3.5.");
      return draw();
    },
  };
}

function body(): TemplateResult {
  const { seen, own } = view;
  if (seen.kind === "over") return html`<h1>The lesson is over</h1><p>Thank you for your answers.</p>`;
  if (seen.kind === "") return html`<h1>You are in</h1><p>Look at the projector: the lesson begins soon.</p>`;
  const closed = seen.phase !== "open";
  const asked = own.told.length ? [] : seen.questions;
  return html`<p class="meta">${seen.step + 1} of ${seen.steps}</p><h1>${seen.heading}</h1>
    ${look(seen, own.told.length > 0)}
    ${asked.map((one, index) => question(one, index + 1, closed, answering(one.key)))}
    ${asked.length && closed ? html`<p class="look-up">Look at the projector.</p>` : nothing}
    ${own.told.map((one, index) => told(one, index + 1))}`;
}

function draw(): void {
  show(body());
}

function came(fresh: StudentView): void {
  const moved = fresh.seen.step !== shownStep;
  if (moved) {
    shownStep = fresh.seen.step;
    shownMs = Date.now();
    drafts.clear();
    refused.clear();
    // What was acknowledged in an earlier step is in the view by now.
    kept.clear();
  }
  const again = fresh.seen.phase === "open" && view.seen.phase !== "open";
  if (again) refused.clear();
  view = fresh;
  draw();
  if (moved) scrollTo({ top: 0 });
}

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
document.getElementById("leave")?.addEventListener("submit", () => queue.clear());
new News<StudentView>(`/class/${sitting}`, {
  came,
  heard: (is) => connection({ heard: is }),
  out,
});
draw();
