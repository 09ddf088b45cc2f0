// A student's paper: each answer is stored on the device when given, and sent until the server has saved it.

import "./style.css";
import { guardLeaving, list, Outbox, outsideWords, type Sending, state } from "../../shared/outbox.ts";
import { ask, outCode, plain } from "../../shared/request.ts";
import * as theme from "../../shared/theme.ts";

const RETRY_MS = 2000;
const TYPING_MS = 700;
const LOOK_MS = 10_000;

interface Given {
  key: string;
  chosen: number;
  value: string;
}

interface Told {
  left_s?: number | null;
  over: boolean;
  released: boolean;
  given: Given[];
  now_ms: number;
  error?: { code?: string };
}

const page = document.getElementById("main") as HTMLElement;
const base = `/sit/${page.dataset["place"]}`;
const outbox = new Outbox(`${base}/answer`, page, {
  name: "paper",
  changed: () => {
    draw();
    if (!form && lateHere() > lateShown) void swap().catch(() => undefined);
  },
  saved: (sending, kept) => {
    outside = "";
    const key = String(sending.what.key);
    if (kept["blank"]) saved.delete(key);
    else saved.add(key);
    setLeft((kept["left_s"] as number | null | undefined) ?? null);
    void goOn();
  },
});
// Questions the server has saved; questions answered on this page, which is newer than an old reply.
const saved = new Set<string>();
const touched = new Set<string>();
let form: HTMLFormElement | null = null;
let active = "";
let begunAt = performance.now();
let takenAt = begunAt;
let endsAt: number | null = null;
// Whether the student has pressed Hand in: it is carried out once nothing waits.
let isEnding = false;
let isActing = false;
// The code of why the server has no place for this browser.
let outside = "";
// How many late answers the server's page showed when it was loaded.
let lateShown = Infinity;

function lateHere(): number {
  return outbox.told.filter((one) => one.fate === "late").length;
}

function fill(one: Given): void {
  for (const field of form?.querySelectorAll<HTMLInputElement>(`input[name="${CSS.escape(one.key)}"]`) ?? []) {
    if (field.type === "radio") field.checked = Number(field.value) === one.chosen;
    else field.value = one.value;
  }
}

/** Answers that wait on this device are in its fields, whatever the server's page shows. */
function restore(): void {
  for (const one of outbox.waiting) {
    touched.add(String(one.what.key));
    fill(one.what as unknown as Given);
  }
}

/** What the server has by now: a page requested while an answer was on its way is older than the answer. */
function catchUp(given: Given[]): void {
  for (const one of given) {
    saved.add(one.key);
    if (!touched.has(one.key)) fill(one);
  }
}

function places(): HTMLElement[] {
  return [...(form?.querySelectorAll<HTMLElement>(".asked-one") ?? [])];
}

function isBlank(place: HTMLElement): boolean {
  const field = place.querySelector<HTMLInputElement>('input[type="text"]');
  return field ? field.value.trim() === "" : place.querySelector("input:checked") === null;
}

function stateOf(key: string, last: Sending | undefined): [words: string, isBad: boolean] {
  if (last?.fate === "unfit") return [`Not saved: ${last.why}.`, true];
  if (last?.fate === "waiting") return ["not sent yet", false];
  if (last?.fate === "not taken") return [`Not accepted: ${last.why}.`, true];
  if (last?.fate === "late") return ["Came late; the instructor will decide.", true];
  return [saved.has(key) ? "saved" : "", false];
}

function tell(id: string, words: string): void {
  const place = document.getElementById(id);
  if (place && place.textContent !== words) place.textContent = words;
}

function draw(): void {
  const waiting = outbox.waiting;
  const told = outbox.told;
  for (const place of places()) {
    const key = place.dataset["key"] as string;
    const [words, isBad] = stateOf(key, outbox.of(key) ?? told.find((one) => one.what.key === key));
    tell(`s-${key}`, words);
    document.getElementById(`s-${key}`)?.classList.toggle("bad", isBad);
  }
  const keys = new Set(waiting.map((one) => one.what.key));
  const count = [...saved].filter((key) => !keys.has(key)).length;
  tell("given", `${count} saved${outbox.open ? `, ${outbox.open} not sent yet` : ""}.`);
  const ending = isEnding && waiting.length ? " The paper is handed in once it is sent." : "";
  tell("kept", state(outbox) + ending || outsideWords(outside, "paper"));
  const notes = document.getElementById("told");
  // The server's own page shows late answers and what was decided.
  if (notes) list(outbox, notes, form ? undefined : ["not taken"]);
}

function take(place: HTMLElement, restMs: number): void {
  const key = place.dataset["key"] as string;
  const field = place.querySelector<HTMLInputElement>('input[type="text"]');
  const chosen = place.querySelector<HTMLInputElement>("input:checked");
  const now = performance.now();
  // The time for a question runs from the answer before it.
  if (key !== active) [active, begunAt] = [key, takenAt];
  takenAt = now;
  const seconds = Math.round((now - begunAt) / 100) / 10;
  const shown = field ? field.value.trim() : (chosen?.parentElement?.querySelector(".option-letter")?.textContent ?? "");
  const words = `${place.querySelector("legend")?.textContent ?? "Question"}: ${shown || "no answer"}`;
  touched.add(key);
  outbox.put({ key, chosen: chosen ? Number(chosen.value) : -1, value: field?.value ?? "", seconds }, words, restMs);
}

function setLeft(seconds: number | null): void {
  endsAt = seconds === null ? null : performance.now() + seconds * 1000;
}

function tick(): void {
  const clock = document.getElementById("left");
  if (!clock || endsAt === null) return;
  const left = Math.max(0, Math.round((endsAt - performance.now()) / 1000));
  const words = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
  const hidden = document.createElement("span");
  hidden.className = "unseen";
  hidden.textContent = "Time left ";
  clock.replaceChildren(hidden, words);
  clock.classList.toggle("short", left < 120);
  if (left === 0) {
    endsAt = null;
    void look();
  }
}

/** Replaces the page by the server's present one; in an outage this one stays. */
async function swap(): Promise<void> {
  const late = lateHere();
  const response = await ask(base);
  const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
  const main = fresh.getElementById("main");
  const same = ["records", "place", "holder"].every((name) => main?.dataset[name] === page.dataset[name]);
  if (!response.ok || !same) return;
  document.body.replaceWith(document.adoptNode(fresh.body));
  isEnding = false;
  lateShown = late;
  begin();
  scrollTo({ top: 0 });
}

/** Whether the paper was closed or marks released; then the page is a different one. */
async function look(): Promise<void> {
  if (document.getElementById("marks")) return;
  try {
    const told = await plain<Told>(await ask(`${base}/state?waiting=${outbox.open}`));
    outside = outCode(told);
    if (told && Array.isArray(told.given)) {
      outbox.clock.hear(told.now_ms);
      if (form ? told.over : told.released || !told.over) await swap();
      else if (form) {
        setLeft(told.left_s ?? null);
        catchUp(told.given);
      }
    }
    draw();
  } catch {
    // The next look will show.
  }
}

/** Asks once about blank questions. */
function askFirst(blank: HTMLElement[]): void {
  const links = blank.map((place) => {
    const link = document.createElement("a");
    link.href = `#${place.id}`;
    link.textContent = (place.querySelector("legend")?.textContent ?? "").replace(/\D+/g, "");
    return link;
  });
  const told = document.createElement("p");
  told.append(`${blank.length} ${blank.length === 1 ? "question has" : "questions have"} no answer: `);
  links.forEach((link, place) => told.append(place ? ", " : "", link));
  const button = document.createElement("button");
  button.className = "act";
  button.value = "hand in now";
  button.textContent = "Hand in anyway";
  const buttons = document.createElement("p");
  buttons.className = "buttons";
  buttons.append(button);
  const block = document.createElement("div");
  block.className = "warning ending";
  block.id = "ending";
  block.setAttribute("role", "alert");
  block.append(told, buttons);
  document.getElementById("ending")?.remove();
  form?.prepend(block);
  block.scrollIntoView({ block: "center" });
}

/** Hands in once the student has asked for it and everything is sent. */
async function goOn(): Promise<void> {
  draw();
  if (!isEnding || isActing || outbox.waiting.length) return;
  isActing = true;
  const reply = await outbox.act(`${base}/hand-in`);
  isActing = false;
  if (!isEnding) return;
  if (reply?.kept) {
    await look();
    return;
  }
  tell("kept", "Not handed in yet: no connection. Leave this page open; the paper is handed in when the connection is back.");
  window.setTimeout(() => void goOn(), RETRY_MS);
}

function handIn(event: SubmitEvent): void {
  event.preventDefault();
  outbox.hurry();
  const isSure = (event.submitter as HTMLButtonElement | null)?.value === "hand in now";
  const blank = places().filter(isBlank);
  const unfit = outbox.waiting.find((one) => one.fate === "unfit");
  if (unfit) {
    tell("kept", `${unfit.words} is not saved: ${unfit.why}. Correct it or empty the field, then hand in.`);
    document.getElementById(`a-${String(unfit.what.key)}`)?.focus();
  } else if (blank.length && !isSure) askFirst(blank);
  else {
    isEnding = true;
    void goOn();
  }
}

function oneByOne(all: HTMLFormElement): void {
  const places = [...all.querySelectorAll<HTMLElement>(".asked-one")];
  const button = document.getElementById("single") as HTMLButtonElement;
  const paging = document.getElementById("paging") as HTMLElement;
  const [before, after] = ["before", "after"].map((name) => document.getElementById(name) as HTMLButtonElement);
  let at = 0;
  let single = false;
  const show = (): void => {
    places.forEach((place, index) => (place.hidden = single && index !== at));
    paging.hidden = !single;
    before!.disabled = at === 0;
    after!.disabled = at === places.length - 1;
    button.setAttribute("aria-pressed", String(single));
  };
  const go = (by: number): void => {
    at = Math.min(Math.max(at + by, 0), places.length - 1);
    show();
    const first = places[at]?.querySelector<HTMLElement>("input:checked") ?? places[at]?.querySelector<HTMLElement>("input");
    first?.focus();
    places[at]?.scrollIntoView({ block: "nearest" });
  };
  button.addEventListener("click", () => {
    single = !single;
    at = 0;
    show();
  });
  before!.addEventListener("click", () => go(-1));
  after!.addEventListener("click", () => go(1));
}

function begin(): void {
  theme.listen(() => undefined);
  form = document.getElementById("paper") as HTMLFormElement | null;
  guardLeaving(document.querySelector(".leave"), outbox);
  saved.clear();
  for (const place of places()) {
    const key = place.dataset["key"] as string;
    if (document.getElementById(`s-${key}`)?.textContent) saved.add(key);
  }
  draw();
  if (!form) return;
  // Answers given while the script was loading raised no event.
  for (const place of places()) {
    const isNew = (field: HTMLInputElement): boolean => field.checked !== field.defaultChecked || field.value !== field.defaultValue;
    if ([...place.querySelectorAll("input")].some(isNew)) take(place, 0);
  }
  restore();
  form.addEventListener("input", (event) => {
    const field = event.target as HTMLInputElement;
    const place = field.closest<HTMLElement>(".asked-one");
    if (place) take(place, field.type === "radio" ? 0 : TYPING_MS);
  });
  form.addEventListener("change", () => outbox.hurry());
  // Enter in a field must not hand the paper in.
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.target as HTMLInputElement).tagName === "INPUT") event.preventDefault();
  });
  form.addEventListener("submit", handIn);
  const left = document.getElementById("left")?.dataset["left"];
  setLeft(left ? Number(left) : null);
  oneByOne(form);
}

document.documentElement.dataset["script"] = "on";
lateShown = lateHere();
begin();
void look();
window.setInterval(tick, 500);
window.setInterval(() => void look(), LOOK_MS);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) void look();
});
