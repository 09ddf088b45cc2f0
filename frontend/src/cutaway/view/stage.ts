// One picture: WebGL context, camera, model and lettering, drawn for a size and a quality level.

import { Color, LinearSRGBColorSpace, PerspectiveCamera, WebGLRenderer } from "three";
import { turnGauge } from "../parts/equipment.ts";
import { aim, FIELD_DEG } from "./eye.ts";
import type { BenchFrame, CameraState, ViewState } from "../frame.ts";
import { cornersOf, labelsOf, showsAirsWay } from "../labels/labels.ts";
import { layOut, letterOf } from "../labels/layout.ts";
import { sheetFor, write, writeScale } from "../labels/lettering.ts";
import { buildModel, type Model } from "../parts/model.ts";
import { schemeOf } from "../shapes/palette.ts";
import { pose } from "../parts/pose.ts";

export interface Moment {
  frame: BenchFrame;
  camera: CameraState;
  view: ViewState;
}

/** Whether there is no graphics hardware. */
export function isSoftware(context: WebGL2RenderingContext): boolean {
  const named = context.getExtension("WEBGL_debug_renderer_info");
  const name: unknown = named ? context.getParameter(named.UNMASKED_RENDERER_WEBGL) : "";
  return /swiftshader|llvmpipe|software|basic render/i.test(String(name));
}

export class Stage {
  readonly renderer: WebGLRenderer;
  readonly camera = new PerspectiveCamera(FIELD_DEG, 1, 1, 1000);
  private readonly ground = new Color();
  readonly model: Model = buildModel();
  private dark: boolean | null = null;

  constructor(canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: false, powerPreference: "high-performance" });
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
  }

  /** Poses everything for a moment and draws it at the renderer's size. */
  draw({ frame, camera, view }: Moment, fine: boolean): void {
    this.model.finish.light(fine);
    const scheme = schemeOf(view.dark);
    if (this.dark !== view.dark) {
      this.dark = view.dark;
      this.model.rose.colourBy(scheme);
      this.renderer.setClearColor(this.ground.set(scheme.ground));
    }
    pose(this.model, frame, view);
    aim(this.camera, this.model, frame, camera, view);
    turnGauge(this.model.equipment, this.model.body.worldToLocal(this.camera.position.clone()).y);
    this.renderer.render(this.model.scene, this.camera);
  }

  /** Draws the labels of the moment last drawn, for a picture of the given size. */
  letter(pen: CanvasRenderingContext2D, { frame, view, camera }: Moment, width: number, height: number): void {
    const scheme = schemeOf(view.dark);
    const sheet = sheetFor(pen, width, height, letterOf(width, height));
    const labels = labelsOf(this.model, frame, view, scheme, this.camera, camera.look);
    const placed = layOut(labels, cornersOf(this.model, view), this.camera, sheet);
    if (showsAirsWay(this.model, camera.look)) writeScale(pen, sheet, scheme);
    write(pen, placed, sheet, scheme);
  }

  dispose(): void {
    this.model.dispose();
    this.renderer.dispose();
  }
}
