// The panes: what is drawn at the display's rate, and what is said of it once a second.

import { html, render, svg, type SVGTemplateResult } from "lit-html";
import { plain } from "../numbers.ts";
import { COMPASS_BOX, compassDial, compassWords } from "./dials/compass.ts";
import type { Face } from "./dials/face.ts";
import { HEADING_BOX, headingDial, headingWords } from "./dials/heading.ts";
import { ROUND_BOX } from "./dials/round.ts";
import { suctionDial, suctionWords } from "./dials/suction.ts";
import { engineDial, engineWords, rotorDial, rotorWords } from "./dials/tachometer.ts";
import type { Frame } from "./messages.ts";
import { element } from "./page.ts";
import { ABOVE_BOX, above, aboveNumbers, aboveWords } from "./true/above.ts";
import { ATTITUDE_BOX, attitude, attitudeWords } from "./true/attitude.ts";
import { DIP_BOX, dip, dipWords } from "./true/dip.ts";
import { GLOBE_BOX, globe, globeWords } from "./true/globe.ts";

interface Picture {
  name: string;
  box: string;
  caption: string;
  draw: (frame: Frame, face: Face) => SVGTemplateResult;
  words: (frame: Frame) => string;
}

const TRUE: Picture[] = [
  { name: "above", box: ABOVE_BOX, caption: "Grey: the air it meets. Brown, M: magnetic north. Orange: its turn in ten seconds.", draw: (frame, face) => above(frame, face.look), words: aboveWords },
  {
    name: "attitude",
    box: ATTITUDE_BOX,
    caption: "Picture of the true attitude, not an instrument",
    draw: (frame, face) => attitude(frame, face.look),
    words: attitudeWords,
  },
  { name: "globe", box: GLOBE_BOX, caption: "Latitude", draw: (frame, face) => globe(frame, face.look), words: globeWords },
  { name: "dip", box: DIP_BOX, caption: "Magnetic dip", draw: (frame, face) => dip(frame, face.look), words: dipWords },
];

const SHOWN: Picture[] = [
  { name: "heading", box: HEADING_BOX, caption: "Heading indicator", draw: headingDial, words: headingWords },
  { name: "compass", box: COMPASS_BOX, caption: "Magnetic compass", draw: compassDial, words: compassWords },
  { name: "suction", box: ROUND_BOX, caption: "", draw: suctionDial, words: suctionWords },
  { name: "rotor", box: ROUND_BOX, caption: "on no panel", draw: rotorDial, words: rotorWords },
  { name: "engine", box: ROUND_BOX, caption: "", draw: engineDial, words: engineWords },
];

/** The other aircraft of a scene with two, as a frame of its own. */
function beside(frame: Frame): Frame | null {
  return frame.second ? { ...frame, ...frame.second } : null;
}

const SECOND: Picture[] = [
  { name: "heading-2", box: HEADING_BOX, caption: "Heading indicator of the second aircraft", draw: headingDial, words: headingWords },
  { name: "suction-2", box: ROUND_BOX, caption: "second", draw: suctionDial, words: suctionWords },
  { name: "rotor-2", box: ROUND_BOX, caption: "second", draw: rotorDial, words: rotorWords },
];

function hang(host: HTMLElement, pictures: Picture[]): Map<Picture, SVGSVGElement> {
  const hung = new Map<Picture, SVGSVGElement>();
  for (const picture of pictures) {
    const figure = document.createElement("figure");
    figure.className = `dial dial-${picture.name}`;
    const drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    drawing.setAttribute("viewBox", picture.box);
    drawing.setAttribute("role", "img");
    drawing.setAttribute("aria-label", picture.caption || picture.name);
    figure.append(drawing);
    if (picture.caption) {
      const caption = document.createElement("figcaption");
      caption.textContent = picture.caption;
      figure.append(caption);
    }
    host.append(figure);
    hung.set(picture, drawing);
  }
  return hung;
}

export class Stage {
  private readonly pictures: Map<Picture, SVGSVGElement>;
  private readonly second: Map<Picture, SVGSVGElement>;
  private readonly shown = element("shown-dials");
  private readonly numbers = document.createElement("dl");

  constructor() {
    const host = element("true-dials");
    this.numbers.className = "true-numbers";
    this.pictures = new Map([...hang(host, TRUE), ...hang(this.shown, SHOWN)]);
    this.second = hang(this.shown, SECOND);
    host.append(this.numbers);
  }

  draw(frame: Frame, face: Face): void {
    for (const [picture, host] of this.pictures) {
      render(svg`${picture.draw(frame, face)}`, host as unknown as HTMLElement);
    }
    const other = beside(frame);
    this.shown.classList.toggle("two", other !== null);
    if (!other) return;
    for (const [picture, host] of this.second) {
      render(svg`${picture.draw(other, face)}`, host as unknown as HTMLElement);
    }
  }

  /** What changes slowly enough to be read. */
  say(frame: Frame, face: Face): void {
    for (const [picture, host] of this.pictures) host.setAttribute("aria-label", picture.words(frame));
    const other = beside(frame);
    if (other) {
      for (const [picture, host] of this.second) host.setAttribute("aria-label", `Second aircraft. ${picture.words(other)}`);
    }
    const pairs = face.numbers ? aboveNumbers(frame) : [];
    const height: [string, string] = ["height", `${plain(Math.round(frame.truth.altitude_ft / 10) * 10)} ft`];
    render(
      html`${[...pairs, ...(face.numbers ? [height] : [])].map(
        ([term, words]) => html`<div><dt>${term}</dt><dd>${words}</dd></div>`,
      )}`,
      this.numbers,
    );
  }
}

/** One sentence of all that is shown, for those who listen. */
export function spoken(frame: Frame): string {
  return [headingWords(frame), compassWords(frame), suctionWords(frame)].join(". ");
}
