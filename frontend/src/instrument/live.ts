// What every page on a bench does: it opens what its address names, draws frames at the display rate, follows with
// buttons and words four times a second, and sends what is pressed.

import type { CameraState } from "../cutaway/index.ts";
import * as theme from "../shared/theme.ts";
import { benchActions } from "./controls/actions.ts";
import { listen } from "./controls/doing.ts";
import { listenKeys } from "./controls/keys.ts";
import { letters } from "./controls/lists.ts";
import { allow, reflect } from "./controls/reflect.ts";
import { Cutaway } from "./cutaway.ts";
import type { Face } from "./dials/face.ts";
import { Keep } from "./keep.ts";
import { pageLook } from "./look.ts";
import { Measure } from "./measure.ts";
import type { Frame, Hello, Scene } from "./messages.ts";
import { benchNamed, Opening } from "./opening.ts";
import { element } from "./page.ts";
import { Session } from "./session.ts";
import { Spoken } from "./spoken.ts";

const SLOW_EVERY_MS = 250;

export interface Page {
  greet?: (hello: Hello) => void;
  /** Each frame as it comes. */
  take: (frame: Frame) => void;
  /** At the display rate. */
  draw: (frame: Frame, nowMs: number) => void;
  /** Buttons and sentences. */
  drawSlow: (frame: Frame) => void;
  /** Whether the cutaway is in sight. */
  shows?: () => boolean;
  /** A scene whose question comes first. */
  asks?: (scene: Scene) => void;
}

export class Live {
  readonly query = new URLSearchParams(location.search);
  readonly spoken = new Spoken();
  readonly session: Session;
  readonly cutaway: Cutaway;
  face: Face = { look: pageLook(), letters: new Map(), numbers: true };
  drives = false;
  private readonly measure = new Measure();
  private readonly keep: Keep;
  private slowMs = 0;

  constructor(
    private readonly page: Page,
    home?: CameraState,
  ) {
    this.session = new Session(benchNamed(this.query), {
      greet: (hello) => {
        page.greet?.(hello);
        opening.greet(hello);
      },
      take: (frame) => {
        this.face = { ...this.face, letters: letters(frame.ghosts) };
        opening.follow(frame);
        page.take(frame);
      },
      lost: () => {
        this.drives = false;
        allow(false);
      },
    });
    const opening = new Opening(this.query, this.session.send, page.asks);
    this.cutaway = new Cutaway(element("cutaway"), this.session.send, () => this.drives, home);
    this.keep = new Keep(this.cutaway);
  }

  /** Once everything that is drawn on is there. */
  begin(actions: { [name: string]: () => void }): void {
    document.documentElement.dataset["script"] = "on";
    theme.listen(this.redraw);
    listen({ send: this.session.send, actions: { ...benchActions(this.session), ...this.cutaway.actions, "caption-now": this.keep.caption, ...actions } });
    listenKeys();
    this.keep.listen(this.session.bench);
    allow(false);
    addEventListener("resize", this.redraw);
    requestAnimationFrame(this.draw);
    // For tests: script time per frame, the last frame drawn, and the drawing.
    Object.assign(globalThis, { lubberline: { measure: this.measure, frame: () => this.session.latest, cutaway: this.cutaway } });
  }

  /** With other colours or sizes. */
  readonly redraw = (): void => {
    this.face = { ...this.face, look: pageLook() };
    this.session.again();
    this.soon();
    this.cutaway.recolour();
  };

  /** Buttons and sentences with the next frame. */
  soon(): void {
    this.slowMs = 0;
  }

  private readonly draw = (): void => {
    requestAnimationFrame(this.draw);
    const nowMs = performance.now();
    const frame = this.session.moment(nowMs);
    const { latest } = this.session;
    if (!frame || !latest) return;
    this.page.draw(frame, nowMs);
    if (nowMs - this.slowMs > SLOW_EVERY_MS) this.drawSlow(latest, nowMs);
    if (this.page.shows?.() ?? true) this.cutaway.draw(frame);
    this.keep.note(latest);
    this.measure.add(performance.now() - nowMs);
  };

  private drawSlow(frame: Frame, nowMs: number): void {
    if (this.drives !== frame.driver || this.slowMs === 0) {
      this.drives = frame.driver;
      allow(this.drives);
    }
    this.slowMs = nowMs;
    reflect(frame);
    this.page.drawSlow(frame);
    this.spoken.follow(frame, nowMs);
  }
}
