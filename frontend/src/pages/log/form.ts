// The log's form on a phone: big keys, time and place filled in; readings survive a lost network.

import { Drafts } from "../../shared/drafts.ts";
import { list, Outbox, type Sending, state } from "../../shared/outbox.ts";
import { ask, plain } from "../../shared/request.ts";

interface Kept {
  id: string;
  time: string;
  words: string;
}

const HEADING_DIGITS = 3;
const ORDER = ["indicated", "compass", "suction"];
const form = document.getElementById("log") as HTMLFormElement;
const line = document.getElementById("line") as HTMLElement;
const refused = document.getElementById("refused") as HTMLElement;
const TYPED = [...ORDER, "time", "run-down", "note", "set-at"];
const FORM = "form";
const PLACE = "lubberline-log:place";
let active = "indicated";
// The entry that is back in the form for correction.
let correcting: Sending | null = null;
let outbox: Outbox;
let drafts: Drafts<{ fields: Fields; corrects: string }>;

function field(id: string): HTMLInputElement {
  return document.getElementById(id) as HTMLInputElement;
}

type Fields = { [name: string]: string };

/** What waits on this device, what came back, and what was not accepted. */
function shown(): void {
  const waiting = document.getElementById("waiting") as HTMLElement;
  waiting.textContent = state(outbox);
  waiting.hidden = !waiting.textContent;
  if (outbox.open) say(`Not sent yet (${outbox.open}).`);
  list(outbox, document.getElementById("told") as HTMLElement);
  cameBack();
}

/** An entry refused as it is goes back into the form, once that is empty. */
function cameBack(): void {
  const unfit = outbox.waiting.find((one) => one.fate === "unfit");
  if (!unfit || correcting?.sent === unfit.sent || ORDER.some((id) => field(id).value)) return;
  correcting = unfit;
  restored(unfit.what["fields"] as Fields);
  refuse(unfit.where, `${unfit.why}.`);
  say("Not saved.");
}

function say(words: string): void {
  line.textContent = words;
}

function refuse(where: string, words: string): void {
  const told = document.createElement("p");
  const place = document.createElement("strong");
  place.textContent = where;
  told.append(place, `: ${words}`);
  refused.replaceChildren(told);
  refused.scrollIntoView({ block: "nearest" });
}

/** UTC to the second, as the server reads it. */
function utc(ms: number): string {
  return `${new Date(ms).toISOString().slice(0, 19)}Z`;
}

/** The unsent contents of the form, stored at every keystroke. */
function draft(): void {
  if (!TYPED.some((id) => field(id).value)) return drafts.drop(FORM);
  const entries = [...new FormData(form)].filter(([name]) => name !== "sent").map(([name, value]) => [name, String(value)]);
  drafts.keep(FORM, { fields: Object.fromEntries(entries) as Fields, corrects: correcting?.sent ?? "" });
}

/** What was typed before the page was loaded, with its time: the readings are from then. */
function recall(): void {
  const found = drafts.of(FORM);
  if (!found) return;
  const { fields, corrects } = found.thing;
  restored({ ...fields, time: fields["time"] || utc(found.at) });
  tellTime();
  show(ORDER.find((id) => !field(id).value) ?? "suction");
  correcting = outbox.waiting.find((one) => one.sent === corrects) ?? null;
  say("Not sent yet: press Save.");
}

/** A time the page filled in, without the day, which is today or near it. */
function shortly(time: string): string {
  return /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/.test(time) ? `${time.slice(11, 16)} UTC` : time;
}

function tellTime(): void {
  (document.getElementById("time-now") as HTMLElement).textContent = shortly(field("time").value) || "now";
}

function fieldsNow(): Fields {
  const fields: Fields = {};
  for (const [name, value] of new FormData(form)) {
    if (name !== "sent") fields[name] = name === "time" && !value ? utc(Date.now()) : String(value);
  }
  return fields;
}

function emptied(): void {
  for (const id of TYPED) field(id).value = "";
  drafts.drop(FORM);
  tellTime();
  refused.replaceChildren();
  show("indicated");
}

function restored(fields: Fields): void {
  for (const one of form.querySelectorAll<HTMLInputElement>("input[name=set_ago_min]")) one.checked = false;
  for (const [name, value] of Object.entries(fields)) {
    const at = form.elements.namedItem(name);
    if (at instanceof HTMLInputElement || at instanceof RadioNodeList) at.value = value;
  }
}

function listed(kept: Kept): void {
  // An entry of which only the reply was lost is in the list already.
  if (document.querySelector(`[data-entry="${CSS.escape(kept.id)}"]`)) return;
  document.getElementById("none-yet")?.remove();
  const row = document.createElement("li");
  row.dataset["entry"] = kept.id;
  const time = document.createElement("span");
  time.textContent = kept.time;
  const words = document.createElement("strong");
  words.textContent = kept.words;
  const undo = document.createElement("button");
  undo.type = "button";
  undo.className = "quiet undo";
  undo.textContent = "Undo";
  row.append(time, " ", words, " ", undo);
  document.getElementById("recent")?.prepend(row);
}

function keep(event: SubmitEvent): void {
  event.preventDefault();
  if (!field("indicated").value.trim()) {
    refuse("heading indicator", "enter its reading, 0 to 360.");
    show("indicated");
    return;
  }
  const fields = fieldsNow();
  const corrected = correcting;
  correcting = null;
  outbox.put({ fields }, `${fields["indicated"]} / ${fields["compass"]}, ${shortly(fields["time"] ?? "")}`);
  emptied();
  if (corrected) outbox.drop(corrected.sent);
}

async function undo(button: HTMLElement): Promise<void> {
  const row = button.closest("li");
  const entry = row?.dataset["entry"];
  if (!row || !entry) return;
  const back = row.classList.contains("taken-back");
  try {
    const headers = { accept: "application/json" };
    const body = new URLSearchParams({ entry, do: back ? "bring back" : "undo" });
    const response = await ask(form.dataset["undo"] ?? "", { method: "POST", body, headers });
    if ((await plain<{ undone?: boolean }>(response))?.undone !== !back) throw new Error("not undone");
    row.classList.toggle("taken-back");
    button.textContent = back ? "Undo" : "Bring back";
    say(back ? "Brought back." : "Undone.");
  } catch {
    say(`Not ${back ? "brought back" : "undone"}: no network, or too late.`);
  }
}

function show(id: string): void {
  active = id;
  for (const name of ORDER) field(name).classList.toggle("here", name === id);
}

function typed(key: string): void {
  const into = field(active);
  if (key === "back") into.value = into.value.slice(0, -1);
  else if (into.value.length < into.maxLength) into.value += key;
  const full = active !== "suction" && into.value.length === HEADING_DIGITS && !into.value.includes(".");
  const next = ORDER[ORDER.indexOf(active) + 1];
  if (full && key !== "back" && next) show(next);
}

function remember(place: string): void {
  const short = document.getElementById("place-now") as HTMLElement;
  short.textContent = place || "not known";
  if (place) localStorage.setItem(PLACE, place);
}

function written(value: number, positive: string, negative: string): string {
  return `${Math.abs(value).toFixed(3)}${value < 0 ? negative : positive}`;
}

/** A device gives its position only to pages of this machine and to secure pages. */
function offerPlace(): void {
  const here = document.getElementById("here") as HTMLButtonElement;
  const known = localStorage.getItem(PLACE);
  if (!field("place").value && known) field("place").value = known;
  remember(field("place").value);
  field("place").addEventListener("change", () => remember(field("place").value));
  if (!window.isSecureContext || !("geolocation" in navigator)) return;
  here.hidden = false;
  here.addEventListener("click", () => {
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        field("place").value = `${written(coords.latitude, "N", "S")} ${written(coords.longitude, "E", "W")}`;
        remember(field("place").value);
      },
      () => say("This device does not give its position."),
      { timeout: 10_000 },
    );
  });
}

/** Entries left on the device by an earlier version of this page. */
function adopt(): void {
  try {
    const name = `lubberline-log:${form.getAttribute("action")}`;
    const found = JSON.parse(localStorage.getItem(name) ?? "[]") as { sent: string; fields: [string, string][] }[];
    for (const one of found) outbox.put({ fields: Object.fromEntries(one.fields) }, "An earlier entry", 0, one.sent);
    localStorage.removeItem(name);
  } catch {
    // No store, or nothing left there.
  }
}

export function begin(): void {
  for (const id of ORDER) {
    const into = field(id);
    // The page's own keys are larger than the device's, and keep the form visible.
    if (matchMedia("(pointer: coarse)").matches) into.inputMode = "none";
    into.addEventListener("focus", () => show(id));
  }
  show("indicated");
  form.noValidate = true;
  form.addEventListener("submit", keep);
  form.addEventListener("input", draft);
  field("time").addEventListener("input", tellTime);
  document.querySelector(".pad")?.addEventListener("click", (event) => {
    const key = (event.target as HTMLElement).closest<HTMLElement>("[data-digit]");
    if (!key) return;
    typed(key.dataset["digit"] ?? "");
    draft();
  });
  document.getElementById("recent")?.addEventListener("click", (event) => {
    const button = (event.target as HTMLElement).closest<HTMLElement>(".undo");
    if (!button) return;
    event.preventDefault();
    void undo(button);
  });
  field("set-at").addEventListener("input", () => {
    for (const one of form.querySelectorAll<HTMLInputElement>("input[name=set_ago_min]")) one.checked = false;
  });
  offerPlace();
  const page = document.getElementById("main") as HTMLElement;
  const { records = "", place = "", holder = "" } = page.dataset;
  drafts = new Drafts(records, place, holder);
  outbox = new Outbox(form.getAttribute("action") ?? "", page, {
    name: "log",
    changed: shown,
    saved: (_, kept) => {
      listed(kept as unknown as Kept);
      say("Saved.");
    },
  });
  adopt();
  recall();
  shown();
}
