// Text typed and not sent yet: stored on the device at every keystroke until it is sent or cleared.

import { Shelf } from "./shelf.ts";

const LONGEST_MS = 30 * 86_400_000;

export interface Draft<Thing> {
  key: string;
  at: number;
  thing: Thing;
}

export class Drafts<Thing> {
  private readonly shelf: Shelf<Draft<Thing>>;

  /** @param whose on this device, as parts of a name. */
  constructor(...whose: string[]) {
    this.shelf = new Shelf("draft", whose);
    for (const one of this.shelf.all()) if (Date.now() - one.at > LONGEST_MS) this.drop(one.key);
  }

  all(): Draft<Thing>[] {
    return this.shelf.all();
  }

  of(key: string): Draft<Thing> | undefined {
    return this.all().find((one) => one.key === key);
  }

  keep(key: string, thing: Thing): void {
    this.shelf.put(key, { key, at: Date.now(), thing });
  }

  drop(key: string): void {
    this.shelf.take(key);
  }
}

type Values = { [name: string]: string };

interface Typed {
  /** The fields' values on the server's page before typing. */
  base: Values;
  now: Values;
  /** The name of its last sending, or ''; a different value on the server's page may be its result. */
  sent: string;
}

type Field = HTMLInputElement | HTMLTextAreaElement;

const FORM = "form[data-draft]";
const forms = new Drafts<Typed>("form");

function fieldsOf(form: HTMLFormElement): Field[] {
  return [...form.querySelectorAll<Field>("textarea[name], .type-field input, .row-form input[type=text]")];
}

/** A form is identified by its address; ids and names in it belong to one school's records. */
function keyOf(form: HTMLFormElement): string {
  return form.getAttribute("action") || location.pathname;
}

function valuesOf(fields: Field[], valueOf: (field: Field) => string): Values {
  return Object.fromEntries(fields.map((field) => [field.name, valueOf(field)]));
}

function keep(form: HTMLFormElement, sent: string): void {
  const key = keyOf(form);
  const before = forms.of(key)?.thing.base ?? {};
  const baseOf = (field: Field): string => before[field.name] ?? field.defaultValue;
  const fields = fieldsOf(form).filter((field) => field.value !== baseOf(field));
  if (!fields.length) return forms.drop(key);
  const base = valuesOf(fields, baseOf);
  forms.keep(key, { base, now: valuesOf(fields, (field) => field.value), sent });
}

/** Whether the server only checks the form, so that its text is stored nowhere else. */
function isOnlyHere(form: HTMLFormElement): boolean {
  return form.dataset["draft"] === "only here";
}

/** Names a sending, so that the server's page can say that it arrived. */
function named(form: HTMLFormElement): string {
  const name = Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) => byte.toString(16).padStart(2, "0")).join("");
  const field = form.querySelector<HTMLInputElement>("input[name=draft]") ?? document.createElement("input");
  field.type = "hidden";
  field.name = "draft";
  field.value = name;
  form.append(field);
  return name;
}

/** Whether the server's page does not have what was typed. */
function isMissing(field: Field, { base, now, sent }: Typed): boolean {
  const [was, typed] = [base[field.name], now[field.name]];
  if (typed === undefined || field.defaultValue === typed) return false;
  if (field.defaultValue === was) return true;
  // The form shows another text, which the reader asked for.
  if (field.form && isOnlyHere(field.form)) return false;
  // The server may have rewritten a short field in its own form.
  return !sent || field instanceof HTMLTextAreaElement;
}

function noteOn(form: HTMLFormElement, at: number): void {
  const note = document.createElement("p");
  note.className = "warning";
  note.setAttribute("role", "status");
  const day = new Date(at).toLocaleDateString("en-GB", { day: "numeric", month: "long" });
  const time = new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const remove = document.createElement("button");
  remove.type = "button";
  remove.className = "quiet";
  remove.textContent = "Discard it";
  remove.addEventListener("click", () => {
    forms.drop(keyOf(form));
    note.remove();
    for (const field of fieldsOf(form)) {
      field.value = field.defaultValue;
      field.dispatchEvent(new Event("restored", { bubbles: true }));
    }
  });
  note.append(`Not saved yet: your text of ${day}, ${time}, is back in the form. `, remove);
  form.prepend(note);
}

/** Restores text that was typed here and never reached the server. */
function restore(form: HTMLFormElement): void {
  const draft = forms.of(keyOf(form));
  if (!draft) return;
  const missing = fieldsOf(form).filter((field) => isMissing(field, draft.thing));
  if (!missing.length) {
    // Only a page that refuses a text shows it.
    if (!form.dataset["draft"]) forms.drop(draft.key);
    return;
  }
  for (const field of missing) {
    field.value = draft.thing.now[field.name] ?? "";
    field.closest("details")?.setAttribute("open", "");
    field.dispatchEvent(new Event("restored", { bubbles: true }));
  }
  noteOn(form, draft.at);
}

/** Stores and restores what is typed into the forms marked for it. */
export function keepForms(): void {
  const formOf = (event: Event): HTMLFormElement | null => (event.target as Element).closest<HTMLFormElement>(FORM);
  document.addEventListener("input", (event) => {
    const form = formOf(event);
    if (form) keep(form, "");
  });
  document.addEventListener("submit", (event) => {
    const form = formOf(event);
    if (form && (event.submitter as HTMLElement | null)?.dataset["discards"] !== undefined) forms.drop(keyOf(form));
    else if (form) keep(form, named(form));
  });
  const taken = new URLSearchParams(location.search).get("taken");
  for (const one of forms.all()) if (taken && one.thing.sent === taken) forms.drop(one.key);
  for (const form of document.querySelectorAll<HTMLFormElement>(FORM)) restore(form);
}
