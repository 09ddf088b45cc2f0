// The row of tabs: arrows move between them, one panel is visible at a time.

import { element } from "../../../instrument/page.ts";

function tabs(): HTMLElement[] {
  return [...element("tabs").querySelectorAll<HTMLElement>("[role=tab]")];
}

export function choose(name: string, focus = false): void {
  for (const tab of tabs()) {
    const chosen = tab.id === `tab-${name}`;
    tab.setAttribute("aria-selected", String(chosen));
    tab.tabIndex = chosen ? 0 : -1;
    element(tab.getAttribute("aria-controls") ?? "").hidden = !chosen;
    if (chosen && focus) tab.focus();
  }
}

export function listenTabs(): void {
  const all = tabs();
  const nameOf = (tab: HTMLElement | undefined): string => tab?.id.replace("tab-", "") ?? "";
  element("tabs").addEventListener("click", (event) => {
    const tab = (event.target as Element).closest<HTMLElement>("[role=tab]");
    if (tab) choose(nameOf(tab));
  });
  element("tabs").addEventListener("keydown", (event) => {
    const at = all.indexOf(document.activeElement as HTMLElement);
    const steps: { [key: string]: number } = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: all.length - 1 };
    const next = steps[event.key];
    if (at < 0 || next === undefined) return;
    event.preventDefault();
    choose(nameOf(all[(next + all.length) % all.length]), true);
  });
}
