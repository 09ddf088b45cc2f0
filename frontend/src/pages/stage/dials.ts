// The one large dial, and in a scene with two aircraft the same dial of the other beside it.

import { render, svg, type SVGTemplateResult } from "lit-html";
import { COMPASS_BOX, compassDial, compassWords } from "../../instrument/dials/compass.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { unitOf } from "../../instrument/dials/legible.ts";
import { HEADING_BOX, headingDial, headingWords } from "../../instrument/dials/heading.ts";
import { ROUND_BOX } from "../../instrument/dials/round.ts";
import { suctionDial, suctionWords } from "../../instrument/dials/suction.ts";
import { rotorDial, rotorWords } from "../../instrument/dials/tachometer.ts";
import type { DialName, Frame } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";

interface Dial {
  box: string;
  draw: (frame: Frame, face: Face) => SVGTemplateResult;
  words: (frame: Frame) => string;
}

const DIALS = {
  heading: { box: HEADING_BOX, draw: headingDial, words: headingWords },
  compass: { box: COMPASS_BOX, draw: compassDial, words: compassWords },
  suction: { box: ROUND_BOX, draw: suctionDial, words: suctionWords },
  rotor: { box: ROUND_BOX, draw: rotorDial, words: rotorWords },
} satisfies Record<DialName, Dial>;
const NAMES = Object.keys(DIALS) as DialName[];
const SVG = "http://www.w3.org/2000/svg";

export class LargeDial {
  private name: DialName = "heading";
  private readonly drawings = [0, 1].map(() => document.createElementNS(SVG, "svg"));
  private readonly units: (() => number)[];
  private readonly host = element("dial");

  constructor(resized: () => void) {
    this.units = this.drawings.map((drawing) => unitOf(drawing, resized));
    for (const drawing of this.drawings) drawing.setAttribute("role", "img");
    this.host.append(...this.drawings);
    this.choose("heading");
  }

  actions(redraw: () => void): { [name: string]: () => void } {
    const choosing = NAMES.map((name) => [`dial-${name}`, () => (this.choose(name), redraw())] as const);
    return { ...Object.fromEntries(choosing), "dial-next": () => (this.next(), redraw()) };
  }

  choose(name: DialName): void {
    this.name = name;
    for (const drawing of this.drawings) drawing.setAttribute("viewBox", DIALS[name].box);
    for (const one of NAMES) {
      document.querySelector(`[data-page="dial-${one}"]`)?.setAttribute("aria-pressed", String(one === name));
    }
  }

  private next(): void {
    this.choose(NAMES[(NAMES.indexOf(this.name) + 1) % NAMES.length] ?? "heading");
  }

  /** The aircraft whose dials are drawn. */
  private shown(frame: Frame): Frame[] {
    return frame.second ? [frame, { ...frame, ...frame.second }] : [frame];
  }

  draw(frame: Frame, face: Face): void {
    const shown = this.shown(frame);
    this.host.dataset["two"] = String(shown.length > 1);
    this.drawings.forEach((drawing, at) => {
      const one = shown[at];
      render(one ? svg`${DIALS[this.name].draw(one, { ...face, unit: this.units[at]?.() ?? 0 })}` : svg``, drawing as unknown as HTMLElement);
    });
  }

  /** The readings in words, which change slowly enough to be read out. */
  say(frame: Frame): void {
    this.shown(frame).forEach((one, at) => {
      this.drawings[at]?.setAttribute("aria-label", `${at ? "Second aircraft. " : ""}${DIALS[this.name].words(one)}`);
    });
  }
}
