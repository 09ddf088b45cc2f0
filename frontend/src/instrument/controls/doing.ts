// Turns the page's controls into commands: their `data-` attributes say what they do.

import type { Command } from "../messages.ts";

export interface Doer {
  send: (command: Command) => void;
  /** Actions of the page itself, by the name in `data-page`. */
  actions: { [name: string]: () => void };
}

function isField(field: Element): field is HTMLInputElement | HTMLSelectElement {
  return field instanceof HTMLInputElement || field instanceof HTMLSelectElement;
}

/** The command of a form: its name, and each named field; an empty number becomes null. */
export function commandOf(form: HTMLFormElement): Command {
  const command: Command = { do: form.dataset["do"] ?? "" };
  for (const field of form.elements) {
    if (!isField(field) || !field.name) continue;
    const number = field instanceof HTMLInputElement && field.type === "number";
    command[field.name] = number ? (field.value === "" ? null : Number(field.value)) : field.value;
  }
  return command;
}

function press(button: HTMLElement, doer: Doer): void {
  const { do: text, page } = button.dataset;
  if (text) doer.send(JSON.parse(text) as Command);
  else if (page) doer.actions[page]?.();
}

/** A finger is on the card only while the button is held. */
function listenHeld(doer: Doer): void {
  let held: HTMLElement | null = null;
  const letGo = (): void => {
    if (!held) return;
    held.classList.remove("held");
    held = null;
    doer.send({ do: "finger", torque_nm: 0 });
  };
  const hold = (button: HTMLElement): void => {
    if (held === button) return;
    held = button;
    button.classList.add("held");
    doer.send({ do: "finger", torque_nm: Number(button.dataset["hold"]) });
  };
  document.addEventListener("pointerdown", (event) => {
    const button = (event.target as Element).closest<HTMLElement>("[data-hold]");
    if (button) hold(button);
  });
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, letGo);
  addEventListener("blur", letGo);
  document.addEventListener("keydown", (event) => {
    const button = (event.target as Element).closest<HTMLElement>("[data-hold]");
    if (button && (event.key === " " || event.key === "Enter")) hold(button);
  });
  document.addEventListener("keyup", letGo);
  document.addEventListener("lubberline-hold", (event) => hold(event.target as HTMLElement));
}

export function listen(doer: Doer): void {
  document.addEventListener("click", (event) => {
    const button = (event.target as Element).closest<HTMLElement>("button[data-do], button[data-page]");
    if (button) press(button, doer);
  });
  document.addEventListener("submit", (event) => {
    const form = event.target as HTMLFormElement;
    if (!form.dataset["do"]) return;
    event.preventDefault();
    doer.send(commandOf(form));
  });
  document.addEventListener("change", (event) => {
    const field = event.target as HTMLSelectElement;
    const { do: name, field: key } = field.dataset;
    if (name && key) doer.send({ do: name, [key]: field.value });
  });
  listenHeld(doer);
}
