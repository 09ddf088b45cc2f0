// One picture: WebGL context, camera, model and lettering, drawn for a size and a quality level.

import { Color, LinearSRGBColorSpace, PerspectiveCamera, Vector3, WebGLRenderer } from "three";
import { openTo } from "../parts/case.ts";
import { turnGauge } from "../parts/equipment.ts";
import { aim, FIELD_DEG, pointsOf } from "./eye.ts";
import { type Filled, filledBy } from "./fit.ts";
import type { BenchFrame, CameraState, ViewState } from "../frame.ts";
import { cornersOf, facesOf, labelsOf, showsAirsWay } from "../labels/labels.ts";
import { layOut, letterOf, type Placed } from "../labels/layout.ts";
import { scaleBox, sheetFor, strobeBox, write, writeScale, writeStrobe } from "../labels/lettering.ts";
import { buildModel, type Model } from "../parts/model.ts";
import { schemeOf } from "../shapes/palette.ts";
import { BLUR_RPM, pose } from "../parts/pose.ts";

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
  /** The labels last drawn, and the outlines of the dials. */
  placed: Placed[] = [];
  faces: Vector3[][] = [];
  private dark: boolean | null = null;

  constructor(
    canvas: HTMLCanvasElement,
    /** Whether the canvas itself has smooth edges. */
    antialias: boolean,
  ) {
    this.renderer = new WebGLRenderer({ canvas, antialias, alpha: false, powerPreference: "high-performance" });
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
    this.renderer.info.autoReset = false;
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
    // Over a dial that is read the axis would only be in the way.
    if (camera.look === "card") this.model.arrows.spin.visible = false;
    aim(this.camera, this.model, frame, camera, view);
    const side = this.model.body.worldToLocal(this.camera.position.clone()).y;
    turnGauge(this.model.equipment, side);
    openTo(this.model.case, side, view.hideCase);
    this.renderer.info.reset();
    this.renderer.render(this.model.scene, this.camera);
  }

  /** How much of the picture the instrument would fill; where the look is at the air, with all of its way. */
  fills({ frame, camera, view }: Moment): Filled {
    pose(this.model, frame, view);
    aim(this.camera, this.model, frame, camera, view);
    const back = this.camera.getWorldDirection(new Vector3()).negate();
    return filledBy(pointsOf(camera.look, this.model, back), this.camera);
  }

  /** Draws the labels of the moment last drawn, for a picture of the given size. */
  letter(pen: CanvasRenderingContext2D, { frame, view, camera }: Moment, width: number, height: number): void {
    const scheme = schemeOf(view.dark);
    const sheet = sheetFor(pen, width, height, letterOf(width, height));
    const { rotor_rpm } = frame.shown;
    const scale = showsAirsWay(this.model, camera.look);
    const strobe = this.model.rotor.slow.visible && rotor_rpm > BLUR_RPM;
    const taken = [...(scale ? [scaleBox(sheet)] : []), ...(strobe ? [strobeBox(sheet, rotor_rpm)] : [])];
    const labels = labelsOf(this.model, frame, view, scheme, this.camera, camera.look);
    this.faces = facesOf(this.model, this.camera);
    this.placed = layOut(labels, cornersOf(this.model, view), this.faces, taken, this.camera, sheet);
    if (scale) writeScale(pen, sheet, scheme);
    write(pen, this.placed, sheet, scheme);
    if (strobe) writeStrobe(pen, sheet, scheme, rotor_rpm);
  }

  dispose(): void {
    this.model.dispose();
    this.renderer.dispose();
  }
}
