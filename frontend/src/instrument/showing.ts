// A scene on the bench: the question to ask first, then what happens, then what to watch.

import { html, nothing, render } from "lit-html";
import { type BenchEvent, type FaultKind, type Frame, type Hello, type Scene, shownIn, type Step } from "./messages.ts";
import { suctionText } from "../shared/suction.ts";
import { element } from "./page.ts";
import { pieces } from "./parts.ts";

// The longest wait for a scene to appear on the bench.
const SETTLED_MS = 4000;

/** The engine's words as a sentence for the page. */
function sentence(words: string, faults: FaultKind[]): string {
  const fault = /^fault (\w+)=([\d.]+)( on the second)?$/.exec(words);
  const kind = faults.find((one) => one.name === fault?.[1]);
  const size = kind?.unit === "inHg" ? suctionText(Number(fault?.[2])) : `${fault?.[2]} ${kind?.unit}`;
  const named = kind ? `${kind.description.split(":")[0]}${fault?.[3] ?? ""}: ${size}` : words;
  const typeset = named.replace(/(\d) deg\b/g, "$1°").replace(/(^|\s)-(?=\d)/g, "$1−");
  return typeset.charAt(0).toUpperCase() + typeset.slice(1);
}

export class Showing {
  private scene: Scene | null = null;
  private step: Step | null = null;
  private isDrawn = false;
  private asking = false;
  private said: BenchEvent | null = null;
  private caption = "";
  private waitUntilMs = 0;
  private faults: FaultKind[] = [];

  /** What the page is called, and what is to be watched, while there is no scene. */
  constructor(
    private readonly title: string,
    private readonly watch = "",
  ) {}

  /** A scene that waits for the class's answer. */
  ask(scene: Scene): void {
    this.scene = scene;
    this.asking = Boolean(scene.ask);
    this.said = null;
    this.waitUntilMs = performance.now() + SETTLED_MS;
    this.show();
  }

  follow({ scenes, faults }: Pick<Hello, "scenes" | "faults">, frame: Frame): void {
    const { scene: id, events, paused } = frame;
    this.faults = faults;
    // Frames from before may still arrive.
    if (this.asking && this.scene && id !== this.scene.id && performance.now() < this.waitUntilMs) return;
    const before = [this.scene, this.step, this.asking, this.said, this.caption];
    this.step = shownIn(scenes, frame).step;
    if ((this.scene?.id ?? null) !== id) {
      this.scene = scenes.find((one) => one.id === id) ?? null;
      this.asking = false;
      this.said = null;
    }
    if (this.asking && !paused) this.asking = false;
    this.said = events[events.length - 1] ?? this.said;
    this.caption = frame.caption ?? "";
    const after = [this.scene, this.step, this.asking, this.said, this.caption];
    if (!this.isDrawn || after.some((value, at) => value !== before[at])) this.show();
  }

  private show(): void {
    const { scene, step } = this;
    this.isDrawn = true;
    if (step) {
      element("scene-title").textContent = step.title;
      render(html`<p class="happens">${pieces(step.say)}</p><p class="watch"><span class="tag">Try</span> ${pieces(step.try)}</p>`, element("caption"));
      return;
    }
    element("scene-title").textContent = scene ? scene.title : this.title;
    const question = scene && this.asking ? html`<p class="question"><span class="tag">Ask first</span> ${scene.ask}
      <button type="button" class="go" data-page="pause">Run it</button></p>` : nothing;
    const done = this.said && this.said.words !== this.caption ? sentence(this.said.words, this.faults) : "";
    const main = this.caption || done;
    const words = main && !this.asking ? html`<p class="happens">${main}</p>` : nothing;
    const aside = this.caption && done && !this.asking ? html`<p class="aside">${done}</p>` : nothing;
    const watching = scene ? scene.watch : this.watch;
    const watch = watching && !this.asking ? html`<p class="watch"><span class="tag">Watch</span> ${watching}</p>` : nothing;
    const caution = scene?.cautions ? html`<p class="aside">${scene.cautions}</p>` : nothing;
    render(html`${question}${words}${watch}${aside}${caution}`, element("caption"));
  }
}
