// The bench on the projector: cutaway and dials, large, with the class's most common wrong ideas as ghosts.

import { render, svg, type SVGTemplateResult } from "lit-html";
import { blend } from "../../instrument/blend.ts";
import type { Part } from "../../cutaway/index.ts";
import { Cutaway } from "../../instrument/cutaway.ts";
import { COMPASS_BOX, compassDial, compassGhosts, compassWords, namedCompassBox } from "../../instrument/dials/compass.ts";
import { described } from "../../instrument/dials/described.ts";
import type { Face } from "../../instrument/dials/face.ts";
import { HEADING_BOX, headingDial, headingWords, NAMED_HEADING_BOX } from "../../instrument/dials/heading.ts";
import { LEAST_PX, legible, unitOf } from "../../instrument/dials/legible.ts";
import { ROUND_BOX } from "../../instrument/dials/round.ts";
import { suctionDial, suctionWords } from "../../instrument/dials/suction.ts";
import { rotorDial, rotorWords } from "../../instrument/dials/tachometer.ts";
import { pageLook } from "../../instrument/look.ts";
import { type Command, type Frame, type FromServer, type Hello, shownIn } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";
import { Line, socketAddress } from "../../instrument/socket.ts";
import { ABOVE_BOX, above, aboveWords } from "../../instrument/true/above.ts";
import { received } from "../../instrument/turns.ts";
import { clock } from "../../shared/numbers.ts";
import { type Plan, Player, type Stage } from "./player.ts";

interface Dial {
  name: string;
  box: string;
  draw: (frame: Frame, face: Face) => SVGTemplateResult;
  words: (frame: Frame) => string;
}

const HEADING: Dial = { name: "heading", box: HEADING_BOX, draw: headingDial, words: headingWords };
const SUCTION: Dial = { name: "suction", box: ROUND_BOX, draw: suctionDial, words: suctionWords };
const ROTOR: Dial = { name: "rotor", box: ROUND_BOX, draw: rotorDial, words: rotorWords };

const ABOVE: Dial = { name: "above", box: ABOVE_BOX, draw: (frame, face) => above(frame, face.look, face.unit), words: aboveWords };

/** The same dial of the other aircraft, in a scene with two. */
function beside(dial: Dial): Dial {
  return {
    name: `${dial.name}-2`,
    box: dial.box,
    draw: (frame, face) => (frame.second ? dial.draw({ ...frame, ...frame.second }, face) : svg``),
    words: (frame) => (frame.second ? `Second aircraft. ${dial.words({ ...frame, ...frame.second })}` : "No second aircraft"),
  };
}

const DIALS: Dial[] = [
  HEADING,
  beside(HEADING),
  ABOVE,
  { name: "compass", box: COMPASS_BOX, draw: compassDial, words: compassWords },
  SUCTION,
  beside(SUCTION),
  ROTOR,
  beside(ROTOR),
];

/** A dial's box has room for the names of the ghosts that it shows. */
function boxOf({ name, box }: Dial, frame: Frame, face: Face): string {
  const own = name.endsWith("-2") ? frame.second : frame;
  if (name.startsWith("heading") && own?.ghosts.length) return NAMED_HEADING_BOX;
  const ghosts = name === "compass" ? compassGhosts(frame, face).length : 0;
  return ghosts ? namedCompassBox(ghosts) : box;
}

/** Which of two aircraft a dial belongs to. */
function tag(dial: Dial, frame: Frame, { look, unit }: Face): SVGTemplateResult | string {
  if (!frame.second || !dial.name.startsWith("heading")) return "";
  const own = dial.name.endsWith("-2") ? frame.second : frame;
  return svg`<text x=${own.ghosts.length ? -148 : -110} y="127" font-size=${legible(17, unit)} font-weight="650" fill=${look.soft}>${dial.name.endsWith("-2") ? "second" : "first"}</text>`;
}

const WORDS_EVERY_MS = 1000;
/** The least letters of a dial, as a share of the screen's height: they are read from the last row. */
const LEAST_SHARE = 0.0155;

/** By how much they are larger than those of a page. */
const lettersOfScreen = (): number => Math.max(1, (LEAST_SHARE * innerHeight) / LEAST_PX);

/** A frame without the ghosts of the scene, while the class predicts. */
function withoutGhosts(frame: Frame): Frame {
  const { second } = frame;
  return { ...frame, ghosts: [], ...(second && { second: { ...second, ghosts: [] } }) };
}

export class ClassBench {
  private readonly line: Line;
  private readonly player: Player;
  private readonly cutaway: Cutaway;
  private readonly drawings = new Map<Dial, SVGSVGElement>();
  private readonly units = new Map<Dial, () => number>();
  private hello: Hello | null = null;
  private previous: Frame | null = null;
  private latest: Frame | null = null;
  private cameMs = 0;
  private gapMs = 33;
  private drawnShare = 0;
  private saidMs = 0;
  private face: Face = { look: pageLook(), letters: new Map(), names: new Map(), numbers: true };

  constructor(
    bench: string,
    pressed: (part: Part | null) => void,
  ) {
    const send = (command: Command): void => void this.line.send(command);
    this.player = new Player(send);
    this.cutaway = new Cutaway(element("cutaway"), send, () => false);
    this.cutaway.onPress = pressed;
    for (const dial of DIALS) this.hang(dial);
    this.line = new Line(socketAddress(bench), {
      opened: () => undefined,
      came: (message) => this.came(message),
      lost: () => this.say("The connection to the bench is lost; retrying."),
    });
    requestAnimationFrame(() => this.draw());
  }

  get frame(): Frame | null {
    return this.latest;
  }

  want(plan: Plan | null, stage: Stage): void {
    if (this.hello) this.player.want(plan, stage);
    else this.waiting = [plan, stage];
  }

  /** A part glows, and the eye goes there; with none, the whole instrument. */
  speakOf(part: Part | null): void {
    this.cutaway.speakOf(part);
    if (part) this.cutaway.lookAt(part);
    else if (this.spoken) this.cutaway.lookAt("whole");
    this.spoken = part;
  }

  recolour(): void {
    this.face = { ...this.face, look: pageLook() };
    this.drawnShare = 0;
    this.cutaway.recolour();
  }

  private spoken: Part | null = null;
  private waiting: [Plan | null, Stage] | null = null;

  private hang(dial: Dial): void {
    const drawing = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    drawing.setAttribute("viewBox", dial.box);
    drawing.setAttribute("role", "img");
    drawing.setAttribute("aria-label", dial.name);
    drawing.classList.add("proj-dial", `proj-${dial.name}`);
    if (dial.name.endsWith("-2")) drawing.classList.add("proj-second");
    element("dials").append(drawing);
    this.drawings.set(dial, drawing);
    this.units.set(dial, unitOf(drawing, () => (this.drawnShare = 0)));
  }

  private say(words: string): void {
    element("refused").textContent = words;
  }

  private came(message: FromServer): void {
    if (message.kind === "frame") this.take(received(message));
    else if (message.kind === "hello") this.greet(message);
    // The ghosts of the scene itself are on already.
    else if (message.kind === "refused" && message.where !== "ghost") this.say(`${message.where}: ${message.wrong}`);
  }

  private greet(hello: Hello): void {
    const isFirst = this.hello === null;
    this.hello = hello;
    this.face = { ...this.face, names: new Map(hello.ideas.map((idea) => [idea.id, idea.name])) };
    this.previous = this.latest = null;
    for (const [dial, drawing] of this.drawings) {
      if (!dial.name.startsWith("more")) continue;
      drawing.remove();
      this.drawings.delete(dial);
    }
    for (const kind of hello.dials) [described(kind), beside(described(kind))].forEach((dial) => this.hang(dial));
    this.say("");
    if (!isFirst) this.player.again();
    else if (this.waiting) this.player.want(...this.waiting);
  }

  private get predicting(): boolean {
    return document.getElementById("main")?.dataset["kind"] === "predict";
  }

  private take(came: Frame): void {
    const frame = this.predicting ? withoutGhosts(came) : came;
    const nowMs = performance.now();
    this.gapMs = this.latest ? Math.min(250, 0.9 * this.gapMs + 0.1 * (nowMs - this.cameMs)) : 33;
    this.cameMs = nowMs;
    this.previous = this.latest;
    this.latest = frame;
    this.drawnShare = 0;
    element("dials").dataset["two"] = String(frame.second !== undefined);
    const { scene, step } = shownIn(this.hello?.scenes ?? [], frame);
    this.cutaway.show(step ?? scene, frame.caption ?? "");
    this.player.follow(frame);
  }

  private draw(): void {
    requestAnimationFrame(() => this.draw());
    if (!this.latest || element("bench-here").hidden || this.drawnShare === 1) return;
    const nowMs = performance.now();
    const share = this.previous ? Math.min(1, (nowMs - this.cameMs) / this.gapMs) : 1;
    this.drawnShare = share;
    const frame = this.previous ? blend(this.previous, this.latest, share) : this.latest;
    for (const [dial, drawing] of this.drawings) {
      drawing.setAttribute("viewBox", boxOf(dial, frame, this.face));
      const face = { ...this.face, unit: (this.units.get(dial)?.() ?? 0) * lettersOfScreen() };
      render(svg`${dial.draw(frame, face)}${tag(dial, frame, face)}`, drawing as unknown as HTMLElement);
    }
    this.cutaway.draw(frame);
    if (nowMs - this.saidMs < WORDS_EVERY_MS) return;
    this.saidMs = nowMs;
    for (const [dial, drawing] of this.drawings) drawing.setAttribute("aria-label", dial.words(frame));
    const told = this.predicting ? "" : (this.latest.caption ?? "");
    const caption = [told, `${clock(frame.time_s)}${frame.paused ? " stopped" : frame.pace === 1 ? "" : ` ×${frame.pace}`}`];
    element("caption").textContent = caption.filter((part) => part).join(" · ");
  }
}
