// A page on a bench: frames come over the socket and are interpolated at the display rate; orders go back.

import { blend } from "./blend.ts";
import { Connection } from "./connection.ts";
import type { Command, Frame, FromServer, Hello, Refusal } from "./messages.ts";
import { element } from "./page.ts";
import { Line, socketAddress } from "./socket.ts";
import { received } from "./turns.ts";

const FIRST_GAP_MS = 33;
const LONGEST_GAP_MS = 250;

export interface Page {
  greet: (hello: Hello) => void;
  take: (frame: Frame) => void;
  /** The connection is lost; the last frame says that the page does not drive. */
  lost: () => void;
}

export class Session {
  hello: Hello | null = null;
  latest: Frame | null = null;
  readonly connection: Connection;
  private readonly line: Line;
  private previous: Frame | null = null;
  private cameMs = 0;
  private gapMs = FIRST_GAP_MS;
  private drawnShare = 0;

  constructor(
    readonly bench: string,
    private readonly page: Page,
  ) {
    this.connection = new Connection(bench, this.send);
    this.line = new Line(socketAddress(bench), {
      opened: () => undefined,
      came: (message) => this.came(message),
      lost: (nextTryMs) => {
        // Drawing the last frame must not enable the controls again.
        if (this.latest) this.latest = { ...this.latest, driver: false };
        page.lost();
        this.connection.loseLine(nextTryMs);
      },
    });
  }

  readonly send = (command: Command): void => {
    element("refused").textContent = "";
    if (!this.line.send(command)) refuse({ where: "bench", wrong: "no connection", right: "wait until it is back" });
  };

  /** What an action does with the last frame; nothing before the first. */
  withFrame(deed: (frame: Frame) => void): () => void {
    return () => {
      if (this.latest) deed(this.latest);
    };
  }

  /** The moment to draw, between the last two frames; null while the one drawn last is right. */
  moment(nowMs: number): Frame | null {
    if (!this.latest || this.drawnShare === 1) return null;
    this.drawnShare = this.previous ? Math.min(1, (nowMs - this.cameMs) / this.gapMs) : 1;
    return this.previous ? blend(this.previous, this.latest, this.drawnShare) : this.latest;
  }

  /** Draws the same moment once more. */
  again(): void {
    this.drawnShare = 0;
  }

  private came(message: FromServer): void {
    if (message.kind === "frame") this.take(received(message));
    else if (message.kind === "hello") this.greet(message);
    else if (message.kind === "notice") this.connection.say(message.words);
    else if (this.hello) refuse(message);
    else this.turnAway(message);
  }

  private greet(hello: Hello): void {
    this.hello = hello;
    this.previous = this.latest = null;
    this.connection.greet(hello);
    this.page.greet(hello);
  }

  private take(frame: Frame): void {
    const nowMs = performance.now();
    this.gapMs = this.latest ? Math.min(LONGEST_GAP_MS, 0.9 * this.gapMs + 0.1 * (nowMs - this.cameMs)) : FIRST_GAP_MS;
    this.cameMs = nowMs;
    this.previous = this.latest;
    this.latest = frame;
    this.drawnShare = 0;
    this.connection.follow(frame);
    this.page.take(frame);
  }

  /** A refusal before the greeting is final: there is no such bench, or it has too many pages. */
  private turnAway(refusal: Refusal): void {
    this.connection.turnAway(inWords(refusal));
    this.line.end();
  }
}

type Refused = Pick<Refusal, "where" | "wrong" | "right">;

function inWords(refusal: Refused): string {
  return `${refusal.where}: ${refusal.wrong}. ${refusal.right}.`;
}

function refuse(refusal: Refused): void {
  element("refused").textContent = inWords(refusal);
}
