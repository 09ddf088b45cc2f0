// The panes: drawings at the display rate, and their descriptions in words.

import { html, render, svg, type SVGTemplateResult } from "lit-html";
import { plain } from "../../shared/numbers.ts";
import { COMPASS_BOX, compassDial, compassWords } from "../../instrument/dials/compass.ts";
import { described } from "../../instrument/dials/described.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { isCramped, unitOf } from "../../instrument/dials/legible.ts";
import { HEADING_BOX, headingDial, headingWords } from "../../instrument/dials/heading.ts";
import { ROUND_BOX, TITLE_SIZE } from "../../instrument/dials/round.ts";
import { suctionDial, suctionWords } from "../../instrument/dials/suction.ts";
import { engineDial, engineWords, rotorDial, rotorWords } from "../../instrument/dials/tachometer.ts";
import type { DialKind, Frame } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { ABOVE_BOX, above, aboveNumbers, aboveWords } from "../../instrument/true/above.ts";
import { ATTITUDE_BOX, attitude, attitudeWords } from "./true/attitude.ts";
import { DIP_BOX, dip, dipCaption, dipWords } from "./true/dip.ts";
import { GLOBE_BOX, globe, globeCaption, globeWords } from "./true/globe.ts";

interface Picture {
  name: string;
  box: string;
  /** Under the drawing; changes slowly enough to be read. */
  caption: (frame: Frame) => string;
  draw: (frame: Frame, face: Face) => SVGTemplateResult;
  words: (frame: Frame) => string;
  /** On its face, or in its caption where the face is too small. */
  title?: string;
}

const TRUE: Picture[] = [
  { name: "above", box: ABOVE_BOX, caption: () => "Grey: relative airflow. Dashed, M: magnetic north. Arc: turn in ten seconds.", draw: (frame, face) => above(frame, face.look, face.unit), words: aboveWords },
  {
    name: "attitude",
    box: ATTITUDE_BOX,
    caption: () => "True attitude (not an instrument)",
    draw: (frame, face) => attitude(frame, face.look),
    words: attitudeWords,
  },
  { name: "globe", box: GLOBE_BOX, caption: globeCaption, draw: (frame, face) => globe(frame, face.look), words: globeWords },
  { name: "dip", box: DIP_BOX, caption: dipCaption, draw: (frame, face) => dip(frame, face.look, face.unit), words: dipWords },
];

const SHOWN: Picture[] = [
  { name: "heading", box: HEADING_BOX, caption: (frame) => (frame.second ? "First aircraft" : "Heading indicator"), draw: headingDial, words: headingWords },
  { name: "compass", box: COMPASS_BOX, caption: () => "Magnetic compass", draw: compassDial, words: compassWords },
  { name: "suction", box: ROUND_BOX, caption: () => "", draw: suctionDial, words: suctionWords, title: "suction" },
  { name: "rotor", box: ROUND_BOX, caption: () => "", draw: rotorDial, words: rotorWords, title: "rotor" },
  { name: "engine", box: ROUND_BOX, caption: () => "", draw: engineDial, words: engineWords, title: "engine" },
];

/** The second aircraft of a scene with two, as a frame. */
function beside(frame: Frame): Frame | null {
  return frame.second ? { ...frame, ...frame.second } : null;
}

const SECOND: Picture[] = [
  { name: "heading-2", box: HEADING_BOX, caption: () => "Second aircraft", draw: headingDial, words: headingWords },
  { name: "suction-2", box: ROUND_BOX, caption: () => "", draw: suctionDial, words: suctionWords, title: "suction" },
  { name: "rotor-2", box: ROUND_BOX, caption: () => "", draw: rotorDial, words: rotorWords, title: "rotor" },
];

interface Hung {
  drawing: SVGSVGElement;
  caption: HTMLElement;
  unit: () => number;
}

function hang(host: HTMLElement, pictures: Picture[], resized: () => void): Map<Picture, Hung> {
  const hung = new Map<Picture, Hung>();
  for (const picture of pictures) {
    const figure = document.createElement("figure");
    figure.className = `dial dial-${picture.name}`;
    const drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    drawing.setAttribute("viewBox", picture.box);
    drawing.setAttribute("role", "img");
    drawing.setAttribute("aria-label", picture.name);
    const caption = document.createElement("figcaption");
    figure.append(drawing, caption);
    host.append(figure);
    hung.set(picture, { drawing, caption, unit: unitOf(drawing, resized) });
  }
  return hung;
}

export class Panes {
  private readonly pictures: Map<Picture, Hung>;
  private readonly second: Map<Picture, Hung>;
  private readonly shown = element("shown-dials");
  private readonly numbers = document.createElement("dl");

  constructor(private readonly resized: () => void) {
    const host = element("true-dials");
    this.numbers.className = "true-numbers";
    this.pictures = new Map([...hang(host, TRUE, resized), ...hang(this.shown, SHOWN, resized)]);
    this.second = hang(this.shown, SECOND, resized);
    host.append(this.numbers);
  }

  /** Adds the dials of other instruments from their descriptions; removes those of the previous bench. */
  fit(kinds: readonly DialKind[]): void {
    this.refit(this.pictures, kinds.map((kind) => ({ ...described(kind), title: kind.title, caption: () => "" })));
    this.refit(this.second, kinds.map((kind) => ({ ...described(kind), title: kind.title, name: "more-2", caption: () => "" })));
  }

  private refit(pictures: Map<Picture, Hung>, wanted: Picture[]): void {
    for (const [picture, { drawing }] of pictures) {
      if (!picture.name.startsWith("more")) continue;
      drawing.parentElement?.remove();
      pictures.delete(picture);
    }
    for (const [picture, hung] of hang(this.shown, wanted, this.resized)) pictures.set(picture, hung);
  }

  draw(frame: Frame, face: Face): void {
    for (const [picture, { drawing, unit }] of this.pictures) {
      render(svg`${picture.draw(frame, { ...face, unit: unit() })}`, drawing as unknown as HTMLElement);
    }
    const other = beside(frame);
    this.shown.classList.toggle("two", other !== null);
    if (!other) return;
    for (const [picture, { drawing, unit }] of this.second) {
      render(svg`${picture.draw(other, { ...face, unit: unit() })}`, drawing as unknown as HTMLElement);
    }
  }

  private label(hung: Map<Picture, Hung>, frame: Frame, before: string): void {
    for (const [picture, { drawing, caption, unit }] of hung) {
      drawing.setAttribute("aria-label", before + picture.words(frame));
      const title = picture.title && isCramped(TITLE_SIZE, unit()) ? picture.title : "";
      const words = [picture.caption(frame), title].filter(Boolean).join(": ");
      if (caption.textContent !== words) caption.textContent = words;
    }
  }

  /** Updates the texts, which change slowly enough to be read. */
  say(frame: Frame, face: Face): void {
    this.label(this.pictures, frame, "");
    const other = beside(frame);
    if (other) this.label(this.second, other, "Second aircraft. ");
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
