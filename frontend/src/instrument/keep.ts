// 'Keep this': what was flown on a bench, and how it is looked at, go to the server as a form.

import type { Cutaway } from "./cutaway.ts";

export function listenKeep(bench: string, cutaway: Cutaway): void {
  document.addEventListener("submit", (event) => {
    const form = event.target as HTMLFormElement;
    if (form.dataset["keeps"] === undefined) return;
    (form.elements.namedItem("bench") as HTMLInputElement).value = bench;
    (form.elements.namedItem("camera") as HTMLInputElement).value = JSON.stringify(cutaway.station());
  });
}
