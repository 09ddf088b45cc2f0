// The screen itself: full, or blank so that the class looks at the instructor.

import { element } from "../../instrument/page.ts";

const blank = (): HTMLDialogElement => element<HTMLDialogElement>("blank");

export function isBlank(): boolean {
  return blank().open;
}

function reflect(): void {
  const button = element("full-screen");
  const full = document.fullscreenElement !== null;
  button.textContent = full ? "Leave full screen" : "Full screen";
  button.setAttribute("aria-pressed", String(full));
}

export const actions: { [name: string]: () => void } = {
  // A browser that refuses full screen leaves the page as it is.
  "full-screen": () => {
    void (document.fullscreenElement ? document.exitFullscreen() : document.documentElement.requestFullscreen()).catch(() => undefined);
  },
  blank: () => blank().showModal(),
};

export function listen(): void {
  document.addEventListener("fullscreenchange", reflect);
  const back = (event: Event): void => {
    event.preventDefault();
    blank().close();
  };
  blank().addEventListener("click", back);
  blank().addEventListener("keydown", back);
}
