// The pages of sittings are plain links and forms; script looks again and types faster.

import "./style.css";
import { tell } from "../../shared/outage.ts";
import { begin } from "../../shared/begin.ts";

const AGAIN_MS = 4000;

/** Puts the fresh roll in the place of the old one, with the focus where it was. */
function putRoll(html: string): void {
  const old = document.getElementById("roll");
  const fresh = new DOMParser().parseFromString(html, "text/html").getElementById("roll");
  if (!old || !fresh || old.outerHTML === fresh.outerHTML) return;
  const focused = document.activeElement?.getAttribute("href");
  const scrolled = old.querySelector(".scroll")?.scrollLeft ?? 0;
  old.replaceWith(document.adoptNode(fresh));
  fresh.querySelector(".scroll")?.scrollTo(scrolled, 0);
  if (focused) fresh.querySelector<HTMLElement>(`a[href="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true });
}

/** What the server says is wrong, when it says so in its own way. */
async function wrongIn(response: Response): Promise<string> {
  const told = (await response.json()) as { error: { wrong: string } };
  return response.status === 503 ? notSaved(told.error.wrong) : "";
}

function notSaved(wrong: string): string {
  return wrong && `Answers are not being saved: ${wrong}`;
}

/** What the roll that stands here says of the records. */
function wrongHere(): string {
  return notSaved(document.getElementById("roll")?.dataset["away"] ?? "");
}

function red(wrong: string): void {
  const numbers = document.querySelector("#roll .unheard")?.textContent ?? "";
  tell(wrong && `${wrong}. The phones keep their answers and send them again.`, wrong && numbers);
}

async function lookAgain(address: string): Promise<void> {
  if (!document.hidden) {
    try {
      const response = await fetch(address);
      if (response.ok) putRoll(await response.text());
      red(response.ok ? wrongHere() : await wrongIn(response));
    } catch {
      // What stands here stays, and the next look tells.
      red("No connection to the server");
    }
  }
  window.setTimeout(() => void lookAgain(address), AGAIN_MS);
}

/** Enter goes to the next field, a letter that can only be one answer goes on by itself. */
function typing(form: HTMLFormElement): void {
  const fields = [...form.querySelectorAll<HTMLInputElement>(".type-field input")];
  const onwards = (field: HTMLInputElement): void => {
    const next = fields[fields.indexOf(field) + 1];
    if (next) {
      next.focus();
      next.select();
    } else document.getElementById("next")?.focus();
  };
  form.addEventListener("keydown", (event) => {
    const field = event.target as HTMLInputElement;
    if (event.key !== "Enter" || !fields.includes(field) || field === fields.at(-1)) return;
    event.preventDefault();
    onwards(field);
  });
  form.addEventListener("input", (event) => {
    const field = event.target as HTMLInputElement;
    const last = field.dataset["letters"];
    if (!last || field.value.length !== 1) return;
    const letter = field.value.toUpperCase();
    if (letter === "-" || (letter >= "A" && letter <= last)) {
      field.value = letter;
      field.removeAttribute("aria-invalid");
      onwards(field);
    } else field.setAttribute("aria-invalid", "true");
  });
  (form.querySelector<HTMLInputElement>("[aria-invalid]") ?? fields[0])?.select();
}

const again = document.querySelector<HTMLElement>("[data-again]")?.dataset["again"];
if (again) {
  red(wrongHere());
  window.setTimeout(() => void lookAgain(again), AGAIN_MS);
}
const typed = document.querySelector<HTMLFormElement>("[data-typing]");
begin();
if (typed) typing(typed);
