// One picture: WebGL context, camera, model and lettering, drawn for a size and a quality level.

import { Color, LinearSRGBColorSpace, PerspectiveCamera, Vector3, WebGLRenderer } from "three";
import { openTo } from "../parts/case.ts";
import { turnGauge } from "../parts/equipment.ts";
import { aim, FIELD_DEG, pointsOf } from "./eye.ts";
import { type Filled, filledBy } from "./fit.ts";
import type { BenchFrame, CameraState, ViewState } from "../frame.ts";
import { gaugeWords } from "../labels/airlabels.ts";
import { bodyOf, cornersOf, facesOf, knobOf, labelsOf, showsAirsWay } from "../labels/labels.ts";
import { type Box, covers, layOut, letterOf, outlineOnPicture, overlap, type Placed } from "../labels/layout.ts";
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
  /** The labels last drawn. */
  placed: Placed[] = [];
  /** Where it says that the rotor is drawn as under a strobe, while it is. */
  strobe: Box | null = null;
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
    const body = outlineOnPicture(bodyOf(this.model, this.camera, view), this.camera, sheet);
    const below = scale ? [scaleBox(sheet)] : [];
    const labels = labelsOf(this.model, frame, view, scheme, this.camera, camera.look);
    const isSeen = view.labels === "none" || labels.some(({ part }) => part === "rotor" || part === "buckets");
    const isSlow = this.model.rotor.slow.visible && rotor_rpm > BLUR_RPM && isSeen;
    this.strobe = isSlow ? strobeBox(sheet, rotor_rpm, (box) => !covers(box, body) && !below.some((one) => overlap(one, box))) : null;
    const taken = [...below, ...(this.strobe ? [this.strobe] : [])];
    const knob = outlineOnPicture(knobOf(this.model, this.camera), this.camera, sheet);
    const kept = { faces: facesOf(this.model, this.camera), knob, body };
    this.placed = layOut(labels, cornersOf(this.model, view), kept, taken, this.camera, sheet);
    this.write(pen, { frame, view, camera }, width, height);
  }

  /** Writes the labels as they are placed, with what else is written on the picture. */
  write(pen: CanvasRenderingContext2D, { frame, view, camera }: Moment, width: number, height: number): void {
    const scheme = schemeOf(view.dark);
    const sheet = sheetFor(pen, width, height, letterOf(width, height));
    if (showsAirsWay(this.model, camera.look)) writeScale(pen, sheet, scheme);
    write(pen, this.placed, sheet, scheme);
    if (this.strobe) writeStrobe(pen, this.strobe, sheet, scheme, frame.shown.rotor_rpm);
  }

  /** Puts the figure of a moment into the placed labels; whether one changed. */
  figures(shown: BenchFrame["shown"]): boolean {
    const words = gaugeWords(shown);
    const gauge = this.placed.find(({ part, text }) => part === "suction-gauge" && /\d/.test(text) && text !== words);
    if (gauge) gauge.text = words;
    return gauge !== undefined;
  }

  dispose(): void {
    this.model.dispose();
    this.renderer.dispose();
  }
}
