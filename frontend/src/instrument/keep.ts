// 'Keep this': what was flown on a bench, and how it was looked at over time, go to the server as a form.

import type { BenchFrame } from "../cutaway/index.ts";
import type { Cutaway } from "./cutaway.ts";

// Views nearer than this in the bench's time are one; the server thins out the rest.
const APART_S = 0.25;
const MOST = 400;

type View = ReturnType<Cutaway["station"]> & { at_s: number };

export class Keep {
  private views: View[] = [];
  private time_s = 0;

  constructor(private readonly cutaway: Cutaway) {}

  /** Notes how the instrument is looked at, unless a scene's own path leads the eye. */
  note({ time_s }: BenchFrame): void {
    if (time_s < this.time_s) this.views = this.views.filter(({ at_s }) => at_s <= time_s);
    this.time_s = time_s;
    if (this.cutaway.led) {
      this.views = [];
      return;
    }
    const view: View = { at_s: time_s, ...this.cutaway.station() };
    const last = this.views.at(-1);
    if (last && JSON.stringify({ ...last, at_s: time_s }) === JSON.stringify(view)) return;
    const begun = this.views.at(-2);
    // A move is on its way while views follow each other at once.
    if (last && begun && time_s - begun.at_s < APART_S) this.views.pop();
    else if (last && time_s === last.at_s) this.views.pop();
    this.views.push(view);
    if (this.views.length > MOST) this.views = this.views.filter((_, place) => place % 2 === 0 || place > MOST / 2);
  }

  listen(bench: string): void {
    document.addEventListener("submit", (event) => {
      const form = event.target as HTMLFormElement;
      if (form.dataset["keeps"] === undefined) return;
      (form.elements.namedItem("bench") as HTMLInputElement).value = bench;
      (form.elements.namedItem("camera") as HTMLInputElement).value = JSON.stringify(this.views);
    });
  }

  /** Begins a caption for this moment, to be written on. */
  readonly caption = (): void => {
    const area = document.querySelector<HTMLTextAreaElement>("[data-keeps] [name=captions]");
    if (!area) return;
    const before = area.value.trimEnd();
    area.value = `${before}${before && "\n"}${this.time_s.toFixed(1)}: `;
    area.focus();
    area.setSelectionRange(area.value.length, area.value.length);
  };
}
