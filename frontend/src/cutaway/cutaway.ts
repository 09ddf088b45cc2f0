// The cutaway on a canvas: draws moments, steps its quality, finds the part under a point.

import type { BenchFrame, CameraState, Part, ViewState } from "./frame.ts";
import { type Measured, measure } from "./view/measure.ts";
import { cardAt, pickAt, shareOf } from "./view/pick.ts";
import { pictureOf } from "./view/picture.ts";
import { Governor, LEVELS, type Quality } from "./view/quality.ts";
import { makeStopwatch } from "./view/stopwatch.ts";
import { isSoftware, type Moment, Stage } from "./view/stage.ts";

export interface Options {
  /** A fixed level; without it the level adapts to this machine. */
  quality?: Quality;
  /** Smooth edges; without it, only with graphics hardware. */
  antialias?: boolean;
  /** Called when the level changes. */
  onQuality?: (level: Quality) => void;
}

export interface Cutaway {
  readonly quality: Quality;
  /** How long the last timed picture took to finish; 0 before the first. */
  readonly took_ms: number;
  draw: (frame: BenchFrame, camera: CameraState, view: ViewState) => void;
  /** To a size in CSS pixels; without one, to the canvas's size. */
  resize: (width?: number, height?: number) => void;
  pick: (x: number, y: number) => Part | null;
  /** The card's centre on the canvas, and its half width there. */
  cardOnPicture: () => { x: number; y: number; radius: number };
  renderTo: (width: number, height: number, frame: BenchFrame, camera: CameraState, view: ViewState) => Promise<Blob>;
  /** How much of the picture's width or height a part takes up; 0 while it is not drawn. */
  seen: (part: Part) => number;
  /** What the last picture shows, measured in the drawing; read only. */
  measure: () => Measured;
  dispose: () => void;
}

/** How often a picture is timed. */
const WATCH_EVERY_MS = 300;

function probe(): boolean {
  const context = document.createElement("canvas").getContext("webgl2");
  if (!context) throw new Error("this browser has no WebGL 2, which the cutaway needs");
  const software = isSoftware(context);
  context.getExtension("WEBGL_lose_context")?.loseContext();
  return software;
}

function overlayFor(canvas: HTMLCanvasElement): HTMLCanvasElement {
  const overlay = document.createElement("canvas");
  overlay.setAttribute("aria-hidden", "true");
  Object.assign(overlay.style, { position: "absolute", pointerEvents: "none" });
  canvas.insertAdjacentElement("afterend", overlay);
  return overlay;
}

export function createCutaway(canvas: HTMLCanvasElement, options: Options = {}): Cutaway {
  const software = probe();
  const governor = new Governor(options.quality ?? (software ? 1 : 3));
  const stage = new Stage(canvas, options.antialias ?? !software, LEVELS[governor.level]);
  const overlay = overlayFor(canvas);
  const pen = overlay.getContext("2d") as CanvasRenderingContext2D;
  let [width, height, drawn, watched_ms, last_took_ms] = [0, 0, 0, 0, 0];
  let last: Moment | null = null;

  const fit = (): void => {
    const level = LEVELS[governor.level];
    stage.take(level);
    stage.renderer.setPixelRatio(Math.min(devicePixelRatio, level.most_ratio) * level.share_of_ratio);
    stage.renderer.setSize(width, height, false);
    stage.camera.aspect = width / height;
    const ratio = Math.min(devicePixelRatio, 2);
    overlay.width = Math.round(width * ratio);
    overlay.height = Math.round(height * ratio);
    Object.assign(overlay.style, {
      left: `${canvas.offsetLeft}px`,
      top: `${canvas.offsetTop}px`,
      width: `${width}px`,
      height: `${height}px`,
    });
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  };
  const show = (moment: Moment): void => {
    stage.draw(moment);
    pen.clearRect(0, 0, width, height);
    stage.letter(pen, moment, width, height);
  };
  const stopwatch = makeStopwatch(stage.renderer.getContext() as WebGL2RenderingContext, (took_ms) => {
    last_took_ms = took_ms;
    if (!governor.took(took_ms, performance.now())) return;
    fit();
    if (last) show(last);
    options.onQuality?.(governor.level);
  });
  const resize = (wide = canvas.clientWidth, high = canvas.clientHeight): void => {
    [width, height] = [Math.max(wide, 1), Math.max(high, 1)];
    fit();
    if (last) show(last);
  };
  resize();
  return {
    get quality() {
      return governor.level;
    },
    get took_ms() {
      return last_took_ms;
    },
    draw: (frame, camera, view) => {
      last = { frame, camera, view };
      const started_ms = performance.now();
      show(last);
      // The first frame compiles shaders and does not predict the next ones.
      const due = drawn > 1 && started_ms - watched_ms > WATCH_EVERY_MS;
      if (options.quality === undefined && due) {
        stopwatch.time(started_ms);
        watched_ms = started_ms;
      }
      drawn += 1;
    },
    resize,
    pick: (x, y) => (last ? pickAt(stage, (2 * x) / width - 1, 1 - (2 * y) / height) : null),
    cardOnPicture: () => cardAt(stage, width, height),
    renderTo: (wide, high, frame, camera, view) =>
      pictureOf(stage, wide, high, { frame, camera, view }, () => {
        fit();
        if (last) show(last);
      }),
    seen: (part) => shareOf(stage, part),
    measure: () => measure(stage),
    dispose: () => {
      stopwatch.stop();
      overlay.remove();
      stage.dispose();
    },
  };
}

