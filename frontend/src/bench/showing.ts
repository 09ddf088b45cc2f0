// A scene on the bench: the question to ask first, then what happens, then what to watch.

import { html, nothing, render } from "lit-html";
import type { BenchEvent, FaultKind, Hello, Scene } from "./messages.ts";
import { element } from "./page.ts";

// So long at most until a scene that was asked for is on the bench.
const SETTLED_MS = 4000;

/** The engine's words as a sentence of the page. */
function sentence(words: string, faults: FaultKind[]): string {
  const fault = /^fault (\w+)=([\d.]+)$/.exec(words);
  const kind = faults.find((one) => one.name === fault?.[1]);
  const named = kind ? `${kind.description.split(":")[0]}: ${fault?.[2] === "0" ? "mended" : fault?.[2]} ${kind.unit}` : words;
  const typeset = named.replace(/(\d) deg\b/g, "$1°").replace(/(^|\s)-(?=\d)/g, "$1−");
  return typeset.charAt(0).toUpperCase() + typeset.slice(1);
}

export class Showing {
  private scene: Scene | null = null;
  private asking = false;
  private said: BenchEvent | null = null;
  private waitUntilMs = 0;
  private faults: FaultKind[] = [];

  /** A scene that waits for the class to answer. */
  ask(scene: Scene): void {
    this.scene = scene;
    this.asking = Boolean(scene.ask);
    this.said = null;
    this.waitUntilMs = performance.now() + SETTLED_MS;
    this.show();
  }

  follow({ scenes, faults }: Pick<Hello, "scenes" | "faults">, id: string | null, events: BenchEvent[], paused: boolean): void {
    this.faults = faults;
    // Frames of the bench as it was before may still come.
    if (this.asking && this.scene && id !== this.scene.id && performance.now() < this.waitUntilMs) return;
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
    const words = !this.asking && this.said ? html`<p class="happens">${sentence(this.said.words, this.faults)}</p>` : nothing;
    const watch = scene?.watch && !this.asking ? html`<p class="watch"><span class="tag">Watch</span> ${scene.watch}</p>` : nothing;
    render(html`${question}${words}${watch}`, element("caption"));
  }
}
