// The script of every page of plain links and forms: theme and drafts.

import { keepForms } from "./drafts.ts";
import * as theme from "./theme.ts";

export function begin(): void {
  document.documentElement.dataset["script"] = "on";
  theme.listen(() => undefined);
  keepForms();
  sayBusy();
}

/** A form that takes a while says so, and is sent once. */
function sayBusy(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-busy]")) {
    const said = form.querySelector<HTMLElement>("[role=status]");
    const button = form.querySelector("button");
    if (!said || !button) continue;
    form.addEventListener("submit", (event) => {
      if (said.textContent) event.preventDefault();
      said.textContent = form.dataset["busy"] ?? "";
      button.setAttribute("aria-disabled", "true");
    });
    // A browser that comes back to the page has not sent it.
    addEventListener("pageshow", () => {
      said.textContent = "";
      button.removeAttribute("aria-disabled");
    });
  }
}
