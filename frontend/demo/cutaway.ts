// Drives the cutaway with made-up frames; `npx vite --config demo/vite.config.ts` in `frontend/` shows it. In the address: show, time, look, orbit, height, distance,
// explode, air, arrows, nocase, fast, dark, labels, follow, quality, run.

import { alongPath, bestOf, createCutaway, enlarged, handle, PARTS, partsSaid } from "../src/cutaway/index.ts";
import type { BenchFrame, CameraState, Look, Part, Quality, ViewState } from "../src/cutaway/index.ts";
import { Governor } from "../src/cutaway/view/quality.ts";
import { frameOf, gimbalsOf, pressed, SHOWS, withGyro } from "./moments.ts";

const asked = new URLSearchParams(location.search);
const number = (name: string, otherwise: number): number => Number(asked.get(name) ?? otherwise);
const canvas = document.getElementById("picture") as HTMLCanvasElement;
const quality = asked.get("quality");
const cutaway = createCutaway(canvas, {
  ...(quality ? { quality: quality as Quality, still: asked.has("still") } : {}),
});
const look = (asked.get("look") ?? "whole") as Look;
const best = bestOf(look);
let camera: CameraState = {
  look,
  orbit_deg: number("orbit", best.orbit_deg),
  height_deg: number("height", best.height_deg),
  distance: number("distance", 1),
};
const labels = asked.get("labels") as ViewState["labels"] | null;
const follow = asked.get("follow") as ViewState["follow"] | null;
let view: ViewState = {
  explode: number("explode", 0),
  hideCase: asked.has("nocase"),
  showAir: asked.has("air"),
  showArrows: asked.has("arrows"),
  slowRotor: !asked.has("fast"),
  dark: asked.has("dark"),
  ...(asked.has("spoken") ? { spoken: asked.get("spoken") as Part } : {}),
  ...(labels ? { labels } : {}),
  ...(follow ? { follow } : {}),
};
const show = SHOWS[asked.get("show") ?? "level"] ?? (SHOWS["level"] as (time_s: number) => BenchFrame);
let frame = show(number("time", 1));
const opened = { frame, view, camera };
const told: string[] = [];
const redraw = (): void => cutaway.draw(frame, camera, view);

handle(canvas, {
  camera: () => camera,
  moved: (next) => {
    camera = next;
    redraw();
  },
  pick: cutaway.pick,
  named: cutaway.named,
  drives: () => true,
  pressed: (part) => told.push(`pressed ${part}`),
  card: cutaway.cardOnPicture,
  finger: (torque_nm) => told.push(`finger ${torque_nm}`),
  knob: (by_deg) => told.push(`knob ${by_deg}`),
  held: (held) => {
    view = { ...view, held };
    redraw();
  },
});
addEventListener("resize", () => cutaway.resize());

/** What the tests hold on to. */
const probe = {
  cutaway,
  told,
  frameOf,
  gimbalsOf,
  pressed,
  withGyro,
  shows: SHOWS,
  alongPath,
  bestOf,
  enlarged,
  partsSaid,
  PARTS,
  Governor,
  /** As the page was opened. */
  reset: (): void => {
    told.length = 0;
    ({ frame, view, camera } = opened);
    cutaway.resize();
    redraw();
  },
  camera: () => camera,
  view: () => view,
  draw: (next: BenchFrame, changes: Partial<ViewState> = {}, from: Partial<CameraState> = {}): void => {
    frame = next;
    view = { ...view, ...changes };
    camera = { ...camera, ...from };
    redraw();
  },
};
Object.assign(globalThis, { probe });

if (asked.has("run")) {
  const run = (now_ms: number): void => {
    frame = show((now_ms / 1000) % 10);
    redraw();
    requestAnimationFrame(run);
  };
  requestAnimationFrame(run);
} else {
  redraw();
}
document.documentElement.dataset["ready"] = "true";
