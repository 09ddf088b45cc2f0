// What an address opens on its bench: a state, a scene, or a step of a tour.

import type { Command, Frame, Hello, Scene } from "./messages.ts";

/** The bench of an address. A scene that names none has its own: what is set up by hand on the other stays as it is. */
export function benchNamed(query: URLSearchParams): string {
  return query.get("bench") ?? (query.has("scene") ? "scenes" : "main");
}

/** Its part of an address; '' where it needs none. */
export function benchQuery(bench: string): string {
  return bench === "main" ? "" : `?bench=${bench}`;
}

/** Whether the page was loaded again, or come back to, rather than opened. */
function isBack(): boolean {
  const [entry] = performance.getEntriesByType("navigation");
  return entry !== undefined && (entry as PerformanceNavigationTiming).type !== "navigate";
}

export class Opening {
  private scenes: readonly Scene[] = [];
  private isDone = false;

  /** `asks`: called with a scene whose question comes first; without it the scene runs at once. */
  constructor(
    private readonly query: URLSearchParams,
    private readonly send: (command: Command) => void,
    private readonly asks?: (scene: Scene) => void,
  ) {}

  greet({ scenes }: Hello): void {
    this.scenes = scenes;
    if (!isBack()) this.open();
  }

  /** Called with each frame: who comes back to a scene finds it as it stands. */
  follow(frame: Frame): void {
    if (this.shows(frame)) this.isDone = true;
    this.open();
  }

  private shows({ scene, step }: Frame): boolean {
    return scene !== null && scene === this.query.get("scene") && (step ?? 1) === this.step;
  }

  private get step(): number {
    return Number(this.query.get("step") ?? 1);
  }

  /** Once: a lost connection must not open it again. */
  private open(): void {
    if (this.isDone) return;
    this.isDone = true;
    const [state, id] = [this.query.get("state"), this.query.get("scene")];
    const scene = this.scenes.find((one) => one.id === id);
    const asks = scene?.ask ? this.asks : undefined;
    if (state) this.send({ do: "state", text: state });
    else if (id) this.send({ do: "scene", id, step: this.step, paused: asks !== undefined });
    if (scene && id) asks?.(scene);
  }
}
