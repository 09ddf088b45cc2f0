// A student's paper: each answer is sent as it is given, again and again until the server says that it is kept.

import "./sit.css";
import * as theme from "../theme.ts";

const RETRY_MS = 2000;
const TYPING_MS = 700;
const LOOK_MS = 10_000;

interface Given {
  key: string;
  chosen: number;
  value: string;
}

interface Waiting extends Given {
  sent: string;
  seconds: number;
}

interface Told {
  left_s: number | null;
  over: boolean;
  released: boolean;
  given: Given[];
}

const form = document.getElementById("paper") as HTMLFormElement | null;
const kept = document.getElementById("kept");
const waiting = new Map<string, Waiting>();
// Whoever has the device next must not send what another one answered.
const shelf = `waiting:${location.pathname}:${form?.dataset["who"] ?? ""}`;
// Questions that were answered in this page.
const touched = new Set<string>();
let sending = false;
let seenAt = performance.now();
let endsAt: number | null = null;

function id(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** What is not kept yet outlives a page that is closed. */
function store(): void {
  try {
    localStorage.setItem(shelf, JSON.stringify([...waiting.values()]));
  } catch {
    // Without a store the answers wait in this page alone.
  }
}

function restore(): void {
  try {
    const found = JSON.parse(localStorage.getItem(shelf) ?? "[]") as Waiting[];
    for (const one of found) {
      waiting.set(one.key, one);
      touched.add(one.key);
      fill(one);
      say(one.key, "not kept yet");
    }
  } catch {
    localStorage.removeItem(shelf);
  }
}

/** What the server has by now: a page that was asked for while an answer was on its way is older than the answer. */
function catchUp(given: Given[]): void {
  for (const one of given) {
    if (waiting.has(one.key) || touched.has(one.key)) continue;
    fill(one);
    say(one.key, "kept");
  }
  count();
}

function fill(one: Given): void {
  for (const field of form?.querySelectorAll<HTMLInputElement>(`input[name="${CSS.escape(one.key)}"]`) ?? []) {
    if (field.type === "radio") field.checked = Number(field.value) === one.chosen;
    else field.value = one.value;
  }
}

function say(key: string, words: string, bad = false): void {
  const place = document.getElementById(`s-${key}`);
  if (!place) return;
  place.textContent = words;
  place.classList.toggle("bad", bad);
}

function tell(words: string): void {
  if (kept && kept.textContent !== words) kept.textContent = words;
}

function count(): void {
  const places = document.querySelectorAll<HTMLElement>(".asked-one");
  const given = [...places].filter((place) => {
    const field = place.querySelector<HTMLInputElement>('input[type="text"]');
    return field ? field.value.trim() !== "" : place.querySelector("input:checked") !== null;
  });
  const words = document.getElementById("given");
  if (words) words.textContent = `${given.length} answered.`;
}

function take(place: HTMLElement): void {
  const key = place.dataset["key"] as string;
  const field = place.querySelector<HTMLInputElement>('input[type="text"]');
  const chosen = place.querySelector<HTMLInputElement>("input:checked");
  const seconds = Math.round((performance.now() - seenAt) / 100) / 10;
  seenAt = performance.now();
  waiting.set(key, { key, sent: id(), chosen: chosen ? Number(chosen.value) : -1, value: field?.value ?? "", seconds });
  say(key, "sending…");
  store();
  count();
  void send();
}

/** One at a time and in order, so that the last answer given is the last one kept. */
async function send(): Promise<void> {
  if (sending || !form) return;
  sending = true;
  try {
    while (waiting.size > 0) {
      const one = waiting.values().next().value as Waiting;
      const headers = { "content-type": "application/json" };
      const response = await fetch(form.dataset["answer"] as string, { method: "POST", headers, body: JSON.stringify(one) });
      const said = (await response.json()) as { blank?: boolean; left_s?: number | null; error?: { wrong: string; right: string } };
      if (response.status >= 500) throw new Error("server");
      if (waiting.get(one.key) === one) waiting.delete(one.key);
      store();
      if (said.error) {
        say(one.key, `Not kept: ${said.error.wrong}; ${said.error.right}.`, true);
        if (response.status === 403 || /closed|handed in|over/.test(said.error.wrong)) void look();
      } else {
        if (!waiting.has(one.key)) say(one.key, said.blank ? "" : "kept");
        setLeft(said.left_s ?? null);
      }
    }
    tell("");
  } catch {
    tell("The network is away. Your answers wait here and are sent as soon as it is back.");
    window.setTimeout(() => void send(), RETRY_MS);
  } finally {
    sending = false;
  }
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

/** Whether the paper was closed, or marks were let out; then the page is another one. */
async function look(): Promise<void> {
  const address = form?.dataset["state"] ?? document.getElementById("wait")?.dataset["state"];
  if (!address) return;
  try {
    const response = await fetch(address);
    if (!response.ok) return;
    const told = (await response.json()) as Told;
    if (form && told.over) {
      await send();
      location.reload();
    } else if (!form && (told.released || !told.over)) location.reload();
    else if (form) {
      setLeft(told.left_s);
      catchUp(told.given);
    }
  } catch {
    // The next look tells.
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

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
if (form) {
  const timers = new Map<HTMLElement, number>();
  restore();
  count();
  form.addEventListener("input", (event) => {
    const field = event.target as HTMLInputElement;
    const place = field.closest<HTMLElement>(".asked-one");
    if (!place) return;
    touched.add(place.dataset["key"] as string);
    clearTimeout(timers.get(place));
    say(place.dataset["key"] as string, "…");
    timers.set(place, window.setTimeout(() => take(place), field.type === "radio" ? 0 : TYPING_MS));
  });
  // Enter in a field must not hand the paper in.
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.target as HTMLInputElement).tagName === "INPUT") event.preventDefault();
  });
  form.addEventListener("submit", (event) => {
    if (waiting.size > 0 && !navigator.onLine) {
      event.preventDefault();
      tell("The network is away. Hand in when it is back.");
    } else localStorage.removeItem(shelf);
  });
  const left = document.getElementById("left")?.dataset["left"];
  setLeft(left ? Number(left) : null);
  window.setInterval(tick, 500);
  oneByOne(form);
  void send();
  void look();
  addEventListener("online", () => void send());
}
window.setInterval(() => void look(), LOOK_MS);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) void look();
});
