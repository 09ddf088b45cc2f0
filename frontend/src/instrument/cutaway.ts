// The cutaway on the page: loaded after the dials; keeps camera and view.

import type { BenchFrame, CameraState, Cutaway as Drawing, Look, Part, Station, ViewState } from "../cutaway/index.ts";
import type { Command, Piece } from "./messages.ts";
import { element } from "./page.ts";

type Room = typeof import("../cutaway/index.ts");
/** What a scene, or a step of a tour, says of the picture. */
export interface Shot {
  camera?: readonly Station[];
  /** Glows; the rest steps back. */
  part?: Part | null;
  /** Its texts: parts that they name are named in the picture before others. */
  say?: readonly Piece[];
  try?: readonly Piece[];
}
type Toggle = "explode" | "case" | "air" | "arrows";

// Dials come first: after a picture whose script takes long, the next one waits several times as long, and until the
// graphics have had a rest: the rate gives way, never the resolution. Without graphics hardware ten pictures a second
// are enough, and five are the least as long as the machine can draw them.
const REST = 1.2;
const GRAPHICS_REST = 1.4;
const LEAST_SOFTWARE_MS = 100;
const LONGEST_MS = 180;
const MOVE_MS = 700;
const still = matchMedia("(prefers-reduced-motion: reduce)");
const darkScheme = matchMedia("(prefers-color-scheme: dark)");

function isDark(): boolean {
  const chosen = document.documentElement.dataset["theme"];
  return chosen ? chosen === "dark" : darkScheme.matches;
}

export class Cutaway {
  private room: Room | null = null;
  private drawing: Drawing | null = null;
  private readonly canvas = document.createElement("canvas");
  private view: ViewState = {
    explode: 0,
    hideCase: false,
    showAir: true,
    showArrows: true,
    slowRotor: !still.matches,
    dark: isDark(),
    follow: "heading",
    held: null,
  };
  private steered = false;
  private move: ((nowMs: number) => void) | null = null;
  /** Asked for before the drawing was there. */
  private wanted: Look | null = null;
  private shot: Shot | null = null;
  private caption = "";
  private camera: CameraState;
  private latest: BenchFrame | null = null;
  private readonly says = element("cutaway-says");
  private nextMs = 0;
  private drawnMs = 0;
  private waits = false;
  // Set by the observer: reading the size at every frame would force a new layout in the middle of the script.
  private inSight = false;

  /** Called for a press without a drag: on a part, or beside all of them. */
  onPress: ((part: Part | null) => void) | null = null;

  constructor(
    private readonly host: HTMLElement,
    private readonly send: (command: Command) => void,
    private readonly drives: () => boolean,
    /** How the whole instrument is seen on this page. */
    private readonly home: CameraState = { orbit_deg: 56, height_deg: 18, distance: 1, look: "whole" },
  ) {
    this.camera = home;
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "application");
    this.canvas.setAttribute("aria-label", "Cutaway of the heading indicator: arrows turn it, plus and minus zoom, j and l press the card, Home resets the view");
    void this.fetch();
  }

  readonly actions: { [name: string]: () => void } = {
    "look-whole": () => this.lookAt("whole"),
    "look-rotor": () => this.lookAt("rotor"),
    "look-card": () => this.lookAt("card"),
    "look-air": () => this.lookAt("air"),
    "cut-explode": () => this.toggle("explode"),
    "cut-case": () => this.toggle("case"),
    "cut-air": () => this.toggle("air"),
    "cut-arrows": () => this.toggle("arrows"),
  };

  /** A camera path is followed until somebody moves the camera. */
  show(shot: Shot | null, caption: string): void {
    if (shot === this.shot) return this.mention(caption);
    this.shot = shot;
    this.caption = "";
    this.steered = false;
    const mentioned = [...(shot?.say ?? []), ...(shot?.try ?? [])].flatMap(({ part }) => (part ? [part] : []));
    this.view = { ...this.view, spoken: shot?.part ?? null, mentioned, follow: "heading" };
    const [first, ...others] = shot?.camera ?? [];
    if (first && !others.length) this.goTo(this.here(first));
    this.mention(caption);
  }

  /** What a scene's caption speaks of is named in the picture while it stands. */
  private mention(caption: string): void {
    if (caption === this.caption || !this.room) return;
    this.caption = caption;
    if (!this.shot?.say) this.view = { ...this.view, mentioned: this.room.partsSaid(caption) };
  }

  /** A camera of a scene, in which the whole instrument is as large as on this page. */
  private here({ orbit_deg, height_deg, distance, look }: CameraState): CameraState {
    const camera: CameraState = { orbit_deg, height_deg, distance, look };
    return this.home.look === "whole" || !this.room ? camera : this.room.enlarged(camera);
  }

  /** Whether a scene's own path leads the eye. */
  get led(): boolean {
    return !this.steered && Boolean(this.shot?.camera?.length);
  }

  /** The view as a scene's camera: as on a page where the whole instrument fits. */
  station(): Omit<Station, "at_s" | "follow"> {
    const { camera, view, home } = this;
    return {
      orbit_deg: Math.round(camera.orbit_deg * 10) / 10,
      height_deg: Math.round(camera.height_deg * 10) / 10,
      distance: Math.round(camera.distance * 1000) / 1000,
      look: camera.look === home.look ? "whole" : camera.look,
      explode: view.explode,
      hide_case: view.hideCase,
    };
  }

  draw(frame: BenchFrame): void {
    this.latest = frame;
    if (this.drawing && frame !== this.room?.REST) this.says.remove();
    if (!this.drawing || !this.inSight) return;
    this.drawing.figures(frame);
    const startedMs = performance.now();
    const { took_ms, software, busy } = this.drawing;
    const everyMs = Math.max(took_ms * GRAPHICS_REST, software ? LEAST_SOFTWARE_MS : 0);
    if (busy || startedMs < this.nextMs || startedMs < this.drawnMs + Math.min(everyMs, LONGEST_MS)) return;
    this.drawnMs = startedMs;
    this.followPath(frame);
    this.drawing.draw(frame, this.camera, this.view);
    const tookMs = performance.now() - startedMs;
    this.nextMs = startedMs + Math.min(tookMs + LONGEST_MS, tookMs * (1 + REST));
  }

  recolour(): void {
    this.view = { ...this.view, dark: isDark() };
    this.again();
  }

  /** Draws the same moment once more, as soon as the graphics can. */
  private again(): void {
    this.nextMs = this.drawnMs = 0;
    if (!this.drawing?.busy) {
      if (this.latest) this.draw(this.latest);
    } else if (!this.waits) {
      this.waits = true;
      requestAnimationFrame(() => {
        this.waits = false;
        this.again();
      });
    }
  }

  private followPath(frame: BenchFrame): void {
    const path = this.shot?.camera;
    if (this.steered || !path?.length || !this.room) return;
    const along = this.room.alongPath(path, frame.time_s, still.matches);
    if (!along) return;
    if (!this.move) this.camera = this.here(along.camera);
    // The case is cut open: where the instrument is large, it stays.
    const { hideCase } = this.home.look === "whole" ? along.view : this.view;
    this.view = { ...this.view, ...along.view, hideCase };
    this.reflect();
  }

  /** A part glows and the rest steps back, until another is spoken of, or none. */
  speakOf(part: Part | null): void {
    this.view = { ...this.view, spoken: part };
    this.again();
  }

  /** The eye goes to a part or a group of parts; it cuts where reduced motion is wanted. */
  lookAt(look: Look): void {
    this.steered = true;
    if (!this.room) {
      this.wanted = look;
      return;
    }
    this.goTo(look === "whole" ? this.home : this.room.bestOf(look, this.latest?.gyro.outer_deg));
  }

  private goTo(after: CameraState): void {
    const { camera: before, room } = this;
    if (!room || !this.latest || this.latest === room.REST) {
      this.camera = after;
      return;
    }
    const startedMs = performance.now();
    const move = (nowMs: number): void => {
      // A touch during the move ends it.
      if (this.move !== move) return;
      const done = still.matches ? 1 : Math.max(0, (nowMs - startedMs) / MOVE_MS);
      this.camera = room.between(before, after, done);
      this.again();
      if (done < 1) requestAnimationFrame(move);
      else this.move = null;
    };
    this.move = move;
    move(startedMs);
    this.reflect();
  }

  private toggle(what: Toggle): void {
    this.steered = true;
    const { view } = this;
    if (what === "explode") this.view = { ...view, explode: view.explode > 0.5 ? 0 : 1 };
    else if (what === "case") this.view = { ...view, hideCase: !view.hideCase };
    else if (what === "air") this.view = { ...view, showAir: !view.showAir };
    else this.view = { ...view, showArrows: !view.showArrows };
    this.reflect();
    this.again();
  }

  private reflect(): void {
    const { view, camera } = this;
    const pressed: { [name: string]: boolean } = {
      "cut-explode": view.explode > 0.5,
      "cut-case": !view.hideCase,
      "cut-air": view.showAir,
      "cut-arrows": view.showArrows,
    };
    for (const look of ["whole", "rotor", "card", "air"]) pressed[`look-${look}`] = camera.look === (look === "whole" ? this.home.look : look);
    for (const [name, on] of Object.entries(pressed)) {
      document.querySelector(`[data-page="${name}"]`)?.setAttribute("aria-pressed", String(on));
    }
  }

  private async fetch(): Promise<void> {
    try {
      this.room = await import("../cutaway/index.ts");
      this.host.prepend(this.canvas);
      this.drawing = this.room.createCutaway(this.canvas);
    } catch (error) {
      this.canvas.remove();
      // What stands beside it takes its room.
      this.host.dataset["none"] = "true";
      this.says.textContent = `The cutaway cannot be drawn here: ${error instanceof Error ? error.message : String(error)}.`;
      return;
    }
    // Until the engine answers the instrument is there, at rest.
    this.says.textContent = "Getting the instrument ready…";
    this.latest ??= this.room.REST;
    this.reflect();
    this.listen(this.room, this.drawing);
    if (this.wanted) this.lookAt(this.wanted);
    else if (!this.steered && this.shot?.camera?.length === 1) this.camera = this.here(this.camera);
  }

  private listen(room: Room, drawing: Drawing): void {
    new ResizeObserver(() => {
      this.inSight = this.canvas.clientWidth > 0;
      if (this.inSight) drawing.resize();
      this.again();
    }).observe(this.host);
    room.handle(this.canvas, {
      camera: () => this.camera,
      moved: (camera) => {
        this.steered = true;
        this.move = null;
        this.camera = camera;
        this.again();
      },
      pick: drawing.pick,
      named: drawing.named,
      drives: this.drives,
      pressed: (part) => this.onPress?.(part),
      card: () => drawing.cardOnPicture(),
      finger: (torque_nm) => this.drives() && this.send({ do: "finger", torque_nm }),
      knob: (by_deg) => this.drives() && this.send({ do: "knob", by_deg }),
      held: (held) => {
        this.view = { ...this.view, held };
        this.again();
      },
    });
  }
}
