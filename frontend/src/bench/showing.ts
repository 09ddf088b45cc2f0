// A scene on the bench: the question to ask first, then what happens, then what to watch.

import { html, nothing, render } from "lit-html";
import type { BenchEvent, Scene } from "./messages.ts";
import { element } from "./page.ts";

export class Showing {
  private scene: Scene | null = null;
  private asking = false;
  private said: BenchEvent | null = null;

  /** A scene that waits for the class to answer. */
  ask(scene: Scene): void {
    this.scene = scene;
    this.asking = Boolean(scene.ask);
    this.said = null;
    this.show();
  }

  follow(scenes: Scene[], id: string | null, events: BenchEvent[], paused: boolean): void {
    const before = [this.scene, this.asking, this.said];
    if ((this.scene?.id ?? null) !== id) {
      this.scene = scenes.find((one) => one.id === id) ?? null;
      this.asking = false;
      this.said = null;
    }
    if (this.asking && !paused) this.asking = false;
    this.said = events[events.length - 1] ?? this.said;
    const after = [this.scene, this.asking, this.said];
    if (after.some((value, at) => value !== before[at])) this.show();
  }

  private show(): void {
    const { scene } = this;
    element("scene-title").textContent = scene ? scene.title : "Open the instrument, fly it, break it";
    const question = scene && this.asking ? html`<p class="question"><span class="tag">Ask first</span> ${scene.ask}
      <button type="button" class="go" data-page="pause">Run it</button></p>` : nothing;
    const words = !this.asking && this.said ? html`<p class="happens">${this.said.words}</p>` : nothing;
    const watch = scene?.watch && !this.asking ? html`<p class="watch"><span class="tag">Watch</span> ${scene.watch}</p>` : nothing;
    render(html`${question}${words}${watch}`, element("caption"));
  }
}
