// The steps of a tour: back and next, and the number of the step in the address.

import type { Send } from "../../instrument/controls/demonstrations.ts";
import type { Frame, Scene } from "../../instrument/messages.ts";
import { element } from "../../instrument/page.ts";

export class Tour {
  private id: string | null = null;
  private step = 0;
  private last = 0;

  constructor(
    private readonly bench: string,
    private readonly send: Send,
  ) {}

  readonly actions: { [name: string]: () => void } = {
    "step-back": () => this.open(this.step - 1),
    "step-next": () => this.open(this.step + 1),
  };

  follow(scene: Scene | null, { step, driver }: Frame): void {
    if (this.id === (scene?.id ?? null) && this.step === (step ?? 0)) return;
    this.id = scene?.id ?? null;
    this.step = step ?? 0;
    this.last = scene?.steps.length ?? 0;
    element("tourbar").hidden = !this.step;
    element("step-number").textContent = `${this.step} of ${this.last}`;
    this.allow(driver);
    if (this.step) history.replaceState(null, "", this.address());
  }

  /** Called when it is known who drives. */
  allow(drives: boolean): void {
    const able = (name: string, may: boolean): void => {
      const button = document.querySelector<HTMLButtonElement>(`[data-page="${name}"]`);
      if (button) button.disabled = !may;
    };
    able("step-back", drives && this.step > 1);
    able("step-next", drives && this.step < this.last);
  }

  private address(): string {
    const bench = this.bench === "scenes" ? "" : `bench=${this.bench}&`;
    return `/stage?${bench}scene=${this.id ?? ""}&step=${this.step}`;
  }

  private open(step: number): void {
    if (this.id) this.send({ do: "scene", id: this.id, step });
  }
}
