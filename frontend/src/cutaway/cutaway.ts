// The cutaway on a canvas: draws moments, steps its quality, finds the part under a point.

import type { BenchFrame, CameraState, Part, ViewState } from "./frame.ts";
import type { Box, Placed } from "./labels/layout.ts";
import type { Filled } from "./view/fit.ts";
import { makeEdges } from "./view/edges.ts";
import { type Measured, measure } from "./view/measure.ts";
import { type Outline, outlineOf } from "./view/outline.ts";
import { cardAt, pickAt, shareOf } from "./view/pick.ts";
import { pictureOf } from "./view/picture.ts";
import { Governor, type Quality, ratioOf } from "./view/quality.ts";
import { makeSheet } from "./view/sheet.ts";
import { makeStill } from "./view/still.ts";
import { makeStopwatch } from "./view/stopwatch.ts";
import { isSoftware, type Moment, Stage } from "./view/stage.ts";

export interface Options {
  /** A fixed level for what moves; without it the level adapts to this machine. */
  quality?: Quality;
  /** Whether the finest picture is drawn once nothing moves. Default: yes. */
  still?: boolean;
}

export interface Cutaway {
  /** The level at which what moves is drawn. */
  readonly quality: Quality;
  /** Whether the picture on the screen is at the finest level. */
  readonly finest: boolean;
  /** How many pictures were drawn so far. */
  readonly pictures: number;
  readonly software: boolean;
  /** Whether the graphics still work on a picture that is timed; every one is without graphics hardware. */
  readonly busy: boolean;
  /** How long the last timed picture took to finish; 0 before the first. */
  readonly took_ms: number;
  draw: (frame: BenchFrame, camera: CameraState, view: ViewState) => void;
  /** Brings the figures in the labels up to a moment whose picture has to wait, as the dials show it already. */
  figures: (frame: BenchFrame) => void;
  /** To a size in CSS pixels; without one, to the canvas's size. */
  resize: (width?: number, height?: number) => void;
  pick: (x: number, y: number) => Part | null;
  /** The part whose name is written at a point. */
  named: (x: number, y: number) => Part | null;
  /** The labels of the last picture, as they stand; read only. */
  labels: () => readonly Placed[];
  /** Where the last picture says that the rotor is drawn as under a strobe; null where it does not. */
  strobe: () => Box | null;
  /** The card's centre on the canvas, and its half width there. */
  cardOnPicture: () => { x: number; y: number; radius: number };
  renderTo: (width: number, height: number, frame: BenchFrame, camera: CameraState, view: ViewState) => Promise<Blob>;
  /** How much of the picture's width or height a part takes up; 0 while it is not drawn. */
  seen: (part: Part) => number;
  /** The least and the greatest openness to the light of each part, 0 to 1; for tests. */
  openness: () => Partial<Record<Part, [number, number]>>;
  /** How much of the last picture the instrument fills. */
  outline: () => Outline;
  /** How much of the picture of a moment it would fill, by the projection alone; looked at for the air, with its way. */
  fills: (frame: BenchFrame, camera: CameraState, view: ViewState) => Filled;
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

/** What a picture is drawn from, to tell whether anything moved. */
function traceOf({ frame, camera, view }: Moment): string {
  const { time_s, pace, truth, shown, gyro, air } = frame;
  return JSON.stringify([time_s, pace, truth, shown, gyro, air, camera, view]);
}

export function createCutaway(canvas: HTMLCanvasElement, options: Options = {}): Cutaway {
  const software = probe();
  const governor = new Governor(software, options.quality);
  // Without graphics hardware samples of every point take more than all the rest.
  const stage = new Stage(canvas, !software);
  const sheet = makeSheet(stage.renderer);
  const edges = makeEdges(stage.renderer);
  const overlay = overlayFor(canvas);
  const pen = overlay.getContext("2d") as CanvasRenderingContext2D;
  let [width, height, drawn, watched_ms, last_took_ms] = [0, 0, 0, 0, 0];
  let busy = false;
  let last: Moment | null = null;
  let trace = "";
  let finest = false;

  const fit = (ratio: number): void => {
    stage.renderer.setPixelRatio(ratio);
    stage.renderer.setSize(width, height, false);
    stage.camera.aspect = width / height;
  };
  const still = makeStill(stage, sheet, () => {
    finest = true;
  });
  const show = (moment: Moment): void => {
    const ratio = ratioOf(width, height, software);
    if (stage.renderer.getPixelRatio() !== ratio) fit(ratio);
    const fine = governor.level === "finest";
    stage.draw(moment, fine);
    if (software) edges.smooth();
    finest = fine;
    pen.clearRect(0, 0, width, height);
    stage.letter(pen, moment, width, height);
    if (!fine && options.still !== false) still.begin(moment);
  };
  const stopwatch = makeStopwatch(stage.renderer.getContext() as WebGL2RenderingContext);
  const timed = (took_ms: number): void => {
    last_took_ms = took_ms;
    busy = false;
    if (options.quality === undefined && governor.took(took_ms, performance.now()) && last) show(last);
  };
  const resize = (wide = canvas.clientWidth, high = canvas.clientHeight): void => {
    [width, height] = [Math.max(wide, 1), Math.max(high, 1)];
    still.drop();
    fit(ratioOf(width, height, software));
    overlay.width = Math.round(width * devicePixelRatio);
    overlay.height = Math.round(height * devicePixelRatio);
    Object.assign(overlay.style, {
      left: `${canvas.offsetLeft}px`,
      top: `${canvas.offsetTop}px`,
      width: `${width}px`,
      height: `${height}px`,
    });
    pen.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    if (last) show(last);
  };
  resize();
  return {
    get quality() {
      return governor.level;
    },
    get finest() {
      return finest;
    },
    get pictures() {
      return drawn;
    },
    get software() {
      return software;
    },
    get busy() {
      return busy;
    },
    get took_ms() {
      return last_took_ms;
    },
    draw: (frame, camera, view) => {
      const moment = { frame, camera, view };
      const now = traceOf(moment);
      // Nothing moved: the picture stays, or its finest level goes on being drawn.
      if (now === trace) return;
      trace = now;
      last = moment;
      still.drop();
      const started_ms = performance.now();
      show(moment);
      // The first picture compiles shaders and does not predict the next ones.
      if (drawn > 1 && started_ms - watched_ms > (software ? 0 : WATCH_EVERY_MS)) {
        busy = stopwatch.time(started_ms, timed);
        watched_ms = started_ms;
      }
      drawn += 1;
    },
    figures: ({ shown }) => {
      if (!last || !stage.figures(shown)) return;
      pen.clearRect(0, 0, width, height);
      stage.write(pen, last, width, height);
    },
    resize,
    pick: (x, y) => (last ? pickAt(stage, (2 * x) / width - 1, 1 - (2 * y) / height) : null),
    named: (x, y) =>
      stage.placed.find(({ box }) => x > box.left && x < box.right && y > box.top && y < box.bottom)?.part ?? null,
    labels: () => stage.placed,
    strobe: () => stage.strobe,
    cardOnPicture: () => cardAt(stage, width, height),
    renderTo: (wide, high, frame, camera, view) =>
      pictureOf(stage, wide, high, { frame, camera, view }, () => {
        still.drop();
        fit(ratioOf(width, height, software));
        if (last) show(last);
      }),
    seen: (part) => shareOf(stage, part),
    outline: () => outlineOf(stage),
    fills: (frame, camera, view) => stage.fills({ frame, camera, view }),
    openness: () => stage.model.sight.openness(),
    measure: () => measure(stage),
    dispose: () => {
      stopwatch.stop();
      still.drop();
      sheet.dispose();
      edges.dispose();
      overlay.remove();
      stage.dispose();
    },
  };
}

