// The pages of sittings are plain links and forms; the script refreshes them and speeds up typing.

import "./style.css";
import { tell } from "../../shared/outage.ts";
import { begin } from "../../shared/begin.ts";

const AGAIN_MS = 4000;

/** Replaces the roll, keeping the focus. */
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

/** The server's own error message, if it sent one. */
async function wrongIn(response: Response): Promise<string> {
  const told = (await response.json()) as { error: { wrong: string } };
  return response.status === 503 ? notSaved(told.error.wrong) : "";
}

function notSaved(wrong: string): string {
  return wrong && `Answers are not being saved: ${wrong}`;
}

/** What the present roll says about the records. */
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
      // The present roll stays until the next look.
      red("No connection to the server");
    }
  }
  window.setTimeout(() => void lookAgain(address), AGAIN_MS);
}

/** Enter goes to the next field; so does a letter that is a complete answer. */
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

/** Closing asks first while phones do not respond or have answers that they have not sent. */
function asksToClose(event: SubmitEvent): void {
  const numbers = document.querySelector("#roll .unheard")?.textContent?.trim();
  const isClose = (event.submitter as HTMLButtonElement | null)?.value === "close";
  const words = `${numbers ?? ""} What comes after the close counts only if you accept it. Close?`;
  if (isClose && numbers && !confirm(words)) event.preventDefault();
}

addEventListener("submit", asksToClose);
const again = document.querySelector<HTMLElement>("[data-again]")?.dataset["again"];
if (again) {
  red(wrongHere());
  window.setTimeout(() => void lookAgain(again), AGAIN_MS);
}
const typed = document.querySelector<HTMLFormElement>("[data-typing]");
begin();
if (typed) typing(typed);
