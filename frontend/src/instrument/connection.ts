// The state of the connection to the bench: lost, back, restarted, and who is in control.

import { html, nothing, render } from "lit-html";
import type { Command, Frame, Hello } from "./messages.ts";
import { element } from "./page.ts";

const KEEP_EVERY_MS = 4000;
const SAID_MS = 8000;

export function stateAddress(bench: string): string {
  return `/bench/state?bench=${encodeURIComponent(bench)}`;
}

export class Connection {
  private lost = false;
  private words = "";
  private wordsUntilMs = 0;
  private keepsUntilMs = 0;
  private drove = false;
  private lastFrame: Frame | null = null;
  private lastState = "";
  private keptMs = 0;
  private awaits = false;

  constructor(
    private readonly bench: string,
    private readonly send: (command: Command) => void,
  ) {}

  loseLine(nextTryMs: number): void {
    this.lost = true;
    this.words = `Connection to the bench lost; retrying in ${(nextTryMs / 1000).toFixed(nextTryMs < 1000 ? 1 : 0)} s.`;
    this.show(null);
  }

  turnAway(words: string): void {
    this.lost = true;
    this.words = words;
    this.show(null);
  }

  greet(hello: Hello): void {
    this.awaits = this.lost;
    if (this.lost && this.drove && hello.role !== "driver") this.send({ do: "take" });
    this.lost = false;
    this.words = "";
  }

  say(words: string): void {
    // A notice about opening the state must not replace the reason for opening it.
    if (performance.now() < this.keepsUntilMs) return;
    this.words = words;
    this.wordsUntilMs = performance.now() + SAID_MS;
    this.show(this.lastFrame);
  }

  /** The first frame after a break shows whether it is the same bench or a new one. */
  follow(frame: Frame): void {
    if (this.awaits) {
      this.awaits = false;
      const begunAnew = frame.time_s < (this.lastFrame?.time_s ?? 0) - 1;
      if (begunAnew && this.drove && this.lastState) this.send({ do: "state", text: this.lastState });
      this.say(begunAnew ? "The server was restarted; the bench continues from its last state." : "Connected again.");
      if (begunAnew) this.keepsUntilMs = this.wordsUntilMs;
    }
    this.drove = frame.driver;
    this.lastFrame = frame;
    if (performance.now() > this.wordsUntilMs) this.words = "";
    this.show(frame);
    if (frame.driver && performance.now() - this.keptMs > KEEP_EVERY_MS) void this.keep();
  }

  /** The state as the server writes it, so that it can be opened again. */
  async keep(): Promise<{ state: string; scene_toml: string } | null> {
    this.keptMs = performance.now();
    try {
      const response = await fetch(stateAddress(this.bench));
      if (!response.ok) return null;
      const kept = (await response.json()) as { state: string; scene_toml: string };
      this.lastState = kept.state;
      return kept;
    } catch {
      // The connection itself shows that it is lost.
      return null;
    }
  }

  private show(frame: Frame | null): void {
    const watching = frame !== null && !frame.driver;
    const take = html`<span>You are watching this bench.</span>
      <button type="button" data-page="take">Take over</button>`;
    render(
      html`${this.words ? html`<span class=${this.lost ? "bad" : ""}>${this.words}</span>` : nothing}
        ${watching ? take : nothing}`,
      element("line"),
    );
  }
}
