// For pages that work as plain links and forms: keeps scroll position and focus.

import { begin as plain } from "./begin.ts";

const LARGEST_BYTES = 200_000;
const OWN = "own";
const PAUSE_MS = 500;
let going: AbortController | null = null;
let typing = 0;

function say(words: string): void {
  const busy = document.getElementById("busy");
  if (busy) busy.textContent = words;
}

function refuse(where: string, wrong: string): void {
  const words = document.createElement("p");
  const place = document.createElement("strong");
  place.textContent = where;
  words.append(place, `: ${wrong}`);
  const refused = document.getElementById("refused") as HTMLElement;
  refused.replaceChildren(words);
  refused.scrollIntoView({ block: "nearest" });
}

/** Replaces parts of this page by those of another one, keeping the focus. */
function put(html: string, parts: string[]): void {
  const page = new DOMParser().parseFromString(html, "text/html");
  const focused = document.activeElement?.id ?? "";
  const opened = [...document.querySelectorAll("details[open]")].map((part) => part.id);
  for (const id of parts) {
    const [old, fresh] = [document.getElementById(id), page.getElementById(id)];
    if (old && fresh) old.replaceWith(document.adoptNode(fresh));
  }
  for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
  document.title = page.title;
  document.getElementById(focused)?.focus({ preventScroll: true });
}

interface Way {
  /** The fields a form sends. */
  sent?: URLSearchParams;
  /** Back in the browser's history, without a new entry. */
  back?: boolean;
  /** While somebody types, the text is left alone. */
  live?: boolean;
}

async function go(address: string, { sent, back = false, live = false }: Way = {}): Promise<void> {
  going?.abort();
  const mine = new AbortController();
  going = mine;
  const slow = window.setTimeout(() => say("Working…"), 400);
  try {
    const response = await fetch(address, { signal: mine.signal, ...(sent ? { method: "POST", body: sent } : {}) });
    const html = await response.text();
    if (!response.headers.get("content-type")?.startsWith("text/html")) {
      const { error } = JSON.parse(html) as { error: { where: string; wrong: string; right: string } };
      refuse(error.where, `${error.wrong}; ${error.right}.`);
      return;
    }
    put(html, live ? ["main"] : ["choose", "main"]);
    // Do not scroll away from the text while somebody types.
    if (!live) document.querySelector("#refused p")?.scrollIntoView({ block: "nearest" });
    // A page made from one's own text has no address; the present one stays.
    const named = !sent || response.redirected;
    if (named && !back) history.pushState(null, "", response.url + new URL(address, location.href).hash);
  } catch {
    if (!mine.signal.aborted) refuse("program", "not responding. Start it again, then reload this page.");
  } finally {
    clearTimeout(slow);
    if (going === mine) say("");
  }
}

function onClick(event: MouseEvent): void {
  const link = (event.target as Element).closest<HTMLAnchorElement>("#choose .picks a, a.act, .afresh a");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  event.preventDefault();
  void go(link.href);
}

function onSubmit(event: SubmitEvent): void {
  const form = event.target as HTMLFormElement;
  const button = event.submitter as HTMLButtonElement | null;
  // The browser handles files.
  if (button?.hasAttribute("formaction")) return;
  event.preventDefault();
  clearTimeout(typing);
  const fields = new URLSearchParams();
  for (const [name, value] of new FormData(form, button)) fields.append(name, String(value));
  if (form.method === "get") void go(`${form.getAttribute("action")}?${fields}`);
  else void go(form.action, { sent: fields });
}

function mean(text: string): void {
  const chosen = document.getElementById("blueprint") as HTMLSelectElement | null;
  if (chosen) chosen.value = text;
}

/** A changed blueprint is selected by itself; an item is previewed when typing pauses. */
function onInput(event: Event): void {
  const field = event.target as HTMLTextAreaElement;
  if (field.id !== "text") return;
  mean(OWN);
  const form = field.form;
  if (form?.dataset["live"] === undefined) return;
  clearTimeout(typing);
  const preview = (): void => void go(form.action, { sent: new URLSearchParams({ text: field.value }), live: true });
  typing = window.setTimeout(preview, PAUSE_MS);
}

async function onChange(event: Event): Promise<void> {
  const field = event.target as HTMLInputElement | HTMLSelectElement;
  if (field.id === "file") await take(field as HTMLInputElement);
  else if (field.id === "blueprint" && field.value === OWN) {
    (document.getElementById("written") as HTMLDetailsElement).open = true;
  } else if (field.id === "kind" || field.id === "blueprint") {
    // A choice made after the text was changed selects the list.
    document.getElementById("text-shown")?.remove();
    field.form?.requestSubmit();
  }
}

async function take(field: HTMLInputElement): Promise<void> {
  const file = field.files?.[0];
  if (!file) return;
  if (file.size > LARGEST_BYTES) {
    refuse(file.name, "too large. Choose a file under 200 kB.");
    return;
  }
  (document.getElementById("text") as HTMLTextAreaElement).value = await file.text();
  mean(OWN);
  field.form?.requestSubmit();
}

/** Starts on a page of this kind. */
export function begin(): void {
  document.addEventListener("click", onClick);
  document.addEventListener("submit", onSubmit);
  document.addEventListener("input", onInput);
  document.addEventListener("change", (event) => void onChange(event));
  document.addEventListener("restored", onInput);
  addEventListener("popstate", () => void go(location.href, { back: true }));
  plain();
}
