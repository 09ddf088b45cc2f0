// The projector: how to join, texts and questions in large letters, the bench, the answers of the class.

import "./style.css";
import { html, nothing, type TemplateResult } from "lit-html";
import type { Part } from "../../cutaway/index.ts";
import type { ProjectorView } from "../../lesson/messages.ts";
import { everySecond, hearTime, panelClock } from "../../lesson/countdown.ts";
import { News } from "../../lesson/news.ts";
import { firstView, here, say, show } from "../../lesson/page.ts";
import { classRose, readyRose } from "../../lesson/rose.ts";
import { LETTERS, marked } from "../../lesson/views.ts";
import { NARROW, spread } from "../../lesson/spread.ts";
import { tell } from "../../shared/outage.ts";
import * as theme from "../../shared/theme.ts";
import { ClassBench } from "./bench.ts";

// Of the size of the page's letters.
const [LARGEST, SMALLEST] = [1, 0.45];
const { sitting = "", bench: benchName = "", address = "", spelled = "" } = here().dataset;
let view = firstView<ProjectorView>() as ProjectorView;
let bench: ClassBench | null = null;
let heard = true;
let away = false;
let spoken: Part | null = null;
let shownStep = "";

/** The class gathers on a compass rose round the code to scan. */
function joining(): TemplateResult {
  return html`<section class="cl-joining">
    <div><h1>${view.seen.title}</h1>
      <p class="cl-how">Scan the code with your phone, or go to</p>
      <p class="cl-address">${address}</p>
      <p class="cl-how">and give the code</p>
      <p class="cl-code">${view.code}</p><p class="cl-spelled">${spelled}</p>
      <p class="cl-joined" role="status"><strong>${view.joined}</strong> in class</p>
      ${view.joined ? html`<p class="cl-how">Each has a heading on the rose; your phone shows yours.</p>` : nothing}</div>
    <div class="cl-rose">${classRose(view.joined)}<img class="cl-qr" src="/teach/${sitting}/code.svg" alt="QR code: the address to join"></div></section>`;
}

/** The code for latecomers, small, in a corner. */
function late(): TemplateResult | typeof nothing {
  return view.code ? html`<p class="cl-late">${address} <strong>${view.code}</strong></p>` : nothing;
}

function asking(): TemplateResult {
  const { questions, kind, phase, heading } = view.seen;
  const [only] = questions;
  const closed = phase !== "open";
  const count = html`<div class="cl-answering"><p class="cl-count" role="status"><strong>${view.answered}</strong> of ${view.joined} ${kind === "quiz" ? "have answered all" : "have answered"}${closed ? ". Answers are closed." : ""}</p>${closed ? nothing : panelClock(view.seen.countdown_utc)}</div>`;
  if (kind === "quiz" || !only) {
    const text = html`<h1>${heading}</h1>${view.seen.html ? marked(view.seen.html) : nothing}`;
    if (closed) return html`<section class="cl-asked">${text}${count}${spreads()}</section>`;
    return html`<section class="cl-beside"><div>${text}<p class="cl-large">${questions.length} questions on your phone, at your own pace.</p>${count}</div>
      ${readyRose(view.joined, view.answered, "have answered all")}</section>`;
  }
  const options = !closed && only.options.length
    ? html`<ol class="cl-choices">${only.options.map((text, place) => html`<li><strong>${LETTERS[place]}</strong> ${text}</li>`)}</ol>`
    : nothing;
  return html`<section class="cl-asked" data-closed=${closed}><div><h1>${heading}</h1>${marked(only.html)}${options}${count}</div>${spreads()}</section>`;
}

function spreads(): TemplateResult | typeof nothing {
  if (!view.spreads.length) return nothing;
  const many = view.spreads.length > 1;
  return html`<div class="cl-spreads" data-many=${many}>${view.spreads.map(
    (one) => html`<figure>${many ? marked(one.question.html) : nothing}${spread(one, true, here().dataset["shows"] === "true" ? NARROW : undefined)}</figure>`,
  )}</div>`;
}

function beside(): TemplateResult | typeof nothing {
  if (!view.ghosts.length) return nothing;
  return html`<ul class="cl-ghosts">${view.ghosts.map(
    (ghost) => html`<li><strong class="cl-ghost">${ghost.name}</strong> <q>${ghost.statement}</q>
      ${ghost.count ? html`<span class="meta">${ghost.count} of you</span>` : nothing}</li>`,
  )}</ul>`;
}

function playing(): TemplateResult {
  return html`<section class="cl-played"><h1>${view.seen.heading}</h1>
    ${view.html ? marked(view.html) : nothing}${beside()}${spreads()}</section>`;
}

function body(): TemplateResult {
  const { kind, heading } = view.seen;
  if (kind === "over") return html`<section class="cl-beside"><div><h1>The lesson is over</h1><p class="cl-large">${view.seen.title}</p><p class="cl-how">Thank you for your answers.</p></div>${readyRose(view.joined, view.joined, "took part")}</section>`;
  if (kind === "") return joining();
  if (kind === "predict" || kind === "quiz") return html`${asking()}${late()}`;
  if (view.show) return html`${playing()}${late()}`;
  return html`<section class="said-large"><h1>${heading}</h1>${marked(view.html)}</section>${late()}`;
}

/** The red line while the server or the records cannot be reached. */
function red(): void {
  const keep = "Your phones keep your answers.";
  if (!heard) tell(`No connection to the server. ${keep}`);
  else tell(away ? `No connection to the records. ${keep}` : "");
}

/** The words are as large as fits: nobody scrolls a projector, and its foot has the caution. */
function fit(): void {
  const words = document.getElementById("view-here") as HTMLElement;
  for (let size = LARGEST; size >= SMALLEST; size -= 0.05) {
    words.style.fontSize = `${size.toFixed(2)}em`;
    if (document.documentElement.scrollHeight <= innerHeight) return;
  }
}

function draw(): void {
  // The answers of the class fill the screen.
  const shows = view.show !== null && !(view.seen.kind === "predict" && view.seen.phase !== "open");
  here().dataset["kind"] = view.seen.kind || "joining";
  here().dataset["shows"] = String(shows);
  const place = document.getElementById("bench-here") as HTMLElement;
  place.hidden = !shows;
  if (shows) bench ??= new ClassBench(benchName, speakOf);
  show(body());
  fit();
  const plan = view.show && { show: view.show, ghosts: view.ghosts.map((one) => ({ ...one, count: 0 })), ghostsFromS: view.ghosts_from_s };
  bench?.want(plan, view.stage);
  const step = `${view.seen.step} ${view.seen.phase}`;
  if (step !== shownStep) speakOf(null);
  shownStep = step;
}

/** A part of the drawing that the text names, or that was pressed in it, glows; pressed again, no longer. */
function speakOf(part: Part | null): void {
  spoken = part === spoken ? null : part;
  bench?.speakOf(spoken);
  for (const name of document.querySelectorAll<HTMLElement>(".cl-part")) {
    name.setAttribute("aria-pressed", String(name.dataset["part"] === spoken));
  }
}

addEventListener("click", (event) => {
  const name = (event.target as Element).closest<HTMLElement>(".cl-part");
  if (name) speakOf(name.dataset["part"] as Part);
});
document.documentElement.dataset["script"] = "on";
theme.listen(() => bench?.recolour());
let isGone = false;
new News<ProjectorView>(`/teach/${sitting}/projector`, {
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
    away = fresh.away !== "";
    red();
  },
  time: hearTime,
  out: () => {
    isGone = true;
    say("The server no longer has this lesson.");
  },
});
addEventListener("resize", draw);
everySecond(() => view.seen.countdown_utc, draw);
draw();
// For looks from outside: the frame that the bench was sent last.
Object.assign(globalThis, { lubberline: { frame: () => bench?.frame ?? null } });
