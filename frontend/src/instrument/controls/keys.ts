// Single keys: each is in the `data-key` of its control, so the list always agrees with the action.

import { element } from "../page.ts";

// The cutaway's keys while it has the focus.
const CANVAS_KEYS = /^(Arrow.*|[-+=jl,.]|Home)$/;

function keyed(): HTMLElement[] {
  return [...document.querySelectorAll<HTMLElement>("[data-key]")];
}

function nameOf(control: HTMLElement): string {
  const name = control.dataset["name"] ?? control.textContent ?? "";
  return name.replace(/\s*\?$/, "").trim();
}

function list(): void {
  const pairs = keyed().map((control) => {
    const pair = document.createElement("div");
    const key = document.createElement("dt");
    const shown = document.createElement("kbd");
    const deed = document.createElement("dd");
    shown.textContent = control.dataset["keyname"] ?? control.dataset["key"] ?? "";
    deed.textContent = nameOf(control);
    key.append(shown);
    pair.append(key, deed);
    return pair;
  });
  element("key-list").replaceChildren(...pairs);
}

export function showKeys(): void {
  list();
  element<HTMLDialogElement>("keys").showModal();
}

/** Keys belong to a field while it has the focus, and to a dialog while it is open. */
function isTaken(event: KeyboardEvent): boolean {
  // Some keyboards write brackets with AltGr, which counts as Ctrl and Alt together.
  const plain = event.getModifierState("AltGraph") || !(event.ctrlKey || event.altKey);
  if (!plain || event.metaKey || document.querySelector("dialog[open]")) return true;
  const target = event.target as Element;
  if (target.closest("input, select, textarea, [contenteditable]")) return true;
  if (target.closest("canvas") && CANVAS_KEYS.test(event.key)) return true;
  if (target.closest("[role=tab]") && /^(Arrow|Home|End)/.test(event.key)) return true;
  return Boolean(target.closest("button, a, summary, [tabindex='0']")) && /^( |Enter|Arrow.*)$/.test(event.key);
}

export function listenKeys(): void {
  document.addEventListener("keydown", (event) => {
    if (isTaken(event)) return;
    if (!element<HTMLInputElement>("keys-on").checked && event.key !== "?") return;
    const control = keyed().find((one) => one.dataset["key"] === event.key);
    if (!control || (control instanceof HTMLButtonElement && control.disabled)) return;
    event.preventDefault();
    if (control.dataset["hold"]) control.dispatchEvent(new Event("lubberline-hold", { bubbles: true }));
    else if (!event.repeat || control.dataset["repeat"] || event.key.startsWith("Arrow")) control.click();
  });
}
