// Poses every part for a frame. There is no state: the same frame always gives the same pose.

import { Color, Euler, Matrix4, MathUtils, Quaternion } from "three";
import { belowCabin_inhg, flow_g_s, markColour, phaseOf } from "../air.ts";
import { APART } from "./apart.ts";
import { needleAngle } from "./equipment.ts";
import type { Attitude, BenchFrame, ViewState } from "../frame.ts";
import { STRETCHES } from "./hoses.ts";
import type { Model } from "./model.ts";
import { METAL, pressureColour, schemeOf } from "../shapes/palette.ts";
import { CAGING_TRAVEL, CARD, KNOB } from "../shapes/sizes.ts";

const rad = MathUtils.degToRad;
/** Below this speed the eye can follow the buckets. */
export const BLUR_RPM = 240;
const SHELL = new Color(METAL.shell);

/** Level to aircraft: heading about down, then pitch about the wing, then bank about the nose. */
function attitudeOf(truth: Attitude): Quaternion {
  return new Quaternion().setFromEuler(
    new Euler(rad(truth.bank_deg), rad(truth.pitch_deg), rad(truth.heading_deg), "ZYX"),
  );
}

/** The pinion's angle for the knob's, moved by less than half a tooth so that it meshes. */
function pinionAngle(knob_deg: number, indicated_deg: number): number {
  const ratio = CARD.spurTeeth / KNOB.pinionTeeth;
  const pitch = 360 / KNOB.pinionTeeth;
  // The card's tooth at the line of centres must meet a gap: both angles are counted from the top.
  const line_deg = 225;
  const meshed = line_deg - 180 + (line_deg + indicated_deg) * ratio + pitch / 2;
  const wanted = knob_deg * ratio;
  return wanted + (MathUtils.euclideanModulo(meshed - wanted + pitch / 2, pitch) - pitch / 2);
}

function poseGyro(model: Model, frame: BenchFrame, view: ViewState): void {
  const { gyro, shown } = frame;
  const spinning = shown.rotor_rpm > BLUR_RPM;
  model.outer.rotation.z = rad(gyro.outer_deg);
  model.cardGear.rotation.x = rad(gyro.outer_deg);
  model.card.group.rotation.x = rad(-shown.indicated_deg);
  model.housingTilt.rotation.y = rad(gyro.tilt_deg);
  model.rotorTilt.rotation.y = rad(gyro.tilt_deg);
  model.rotor.group.rotation.x = 2 * Math.PI * gyro.rotor_turns;
  model.rotor.fast.visible = spinning && !view.slowRotor;
  model.rotor.slow.visible = !model.rotor.fast.visible;
  const pushed = gyro.caged || view.held === "setting-knob";
  const lowered = gyro.caged ? CAGING_TRAVEL : 0;
  model.knob.position.set(APART.knob * view.explode + (pushed ? KNOB.travel : 0), KNOB.across, KNOB.down);
  model.knob.rotation.x = rad(pinionAngle(gyro.knob_deg, shown.indicated_deg));
  model.link.position.set(0, APART.link * view.explode, lowered);
  model.fork.position.set(0, APART.fork * view.explode, lowered);
  model.gimbal.stopPaint.tint.set(gyro.on_stop ? "#ff5a3c" : METAL.stop);
  model.arrows.spin.visible = view.showArrows && shown.rotor_rpm > 1;
  model.arrows.pose(gyro, shown.rotor_rpm > 1);
  model.arrows.turning.visible &&= view.showArrows;
}

function poseApart(model: Model, view: ViewState): void {
  const apart = view.explode;
  model.front.position.x = APART.front * apart;
  model.card.group.position.x = APART.card * apart;
  model.cardGear.position.x = APART.cardGear * apart;
  model.arrows.finger.position.x = APART.card * apart;
  model.case.group.position.x = APART.case * apart;
  model.case.bearings.position.x = APART.case * apart;
  model.air.position.x = APART.air * apart;
  model.gimbalGear.position.z = APART.gimbalGear * apart;
  model.gimbal.stops.position.y = APART.stops * apart;
  model.nozzles.group.position.y = APART.nozzles * apart;
  model.housingLift.position.z = APART.housing * apart;
  model.rotorLift.position.z = APART.rotor * apart;
}

function poseAir(model: Model, frame: BenchFrame, view: ViewState): void {
  const air = view.showAir ? frame.air : null;
  model.air.visible = air !== null;
  const colour = markColour(view.dark);
  for (const stretch of STRETCHES) {
    const { paint } = model.hoses[stretch];
    if (air) pressureColour(belowCabin_inhg(stretch, air), paint.tint);
    else paint.tint.set(METAL.duct);
    const marks = model.marks[stretch];
    marks?.place(phaseOf(frame), air ? flow_g_s(stretch, air) : 0);
    (marks?.mesh.material as { color?: { copy: (of: typeof colour) => void } } | undefined)?.color?.copy(colour);
  }
  const { nozzles, equipment } = model;
  nozzles.streams.visible = air !== null && air.jet_mps > 1;
  model.case.insidePaint.tint.set(METAL.shell);
  nozzles.duct.tint.set(METAL.duct);
  if (!air) return;
  pressureColour(air.filter_inhg, nozzles.duct.tint);
  // Paler than the hoses: a large surface.
  pressureColour(air.manifold_inhg, model.case.insidePaint.tint).lerp(SHELL, 0.45);
  nozzles.stream.color.copy(colour);
  equipment.needle.rotation.z = needleAngle(frame.shown.gauge_inhg ?? 0);
  equipment.shaft.rotation.x = air.engine_rpm > 0 ? (2 * Math.PI * phaseOf(frame)) / 6 : 0;
}

export function pose(model: Model, frame: BenchFrame, view: ViewState): void {
  const scheme = schemeOf(view.dark);
  model.finish.colourBy(scheme);
  model.arrows.colourBy(scheme);
  model.body.quaternion.copy(attitudeOf(frame.truth));
  model.rose.shadow.rotation.z = rad(frame.truth.heading_deg);
  poseGyro(model, frame, view);
  poseApart(model, view);
  poseAir(model, frame, view);
  model.named.speakOf(view.spoken ?? null, view.mentioned ?? []);
  model.scene.updateMatrixWorld();
}

/** Rotation that the camera follows. */
export function baseOf(truth: Attitude, follow: NonNullable<ViewState["follow"]>): Matrix4 {
  if (follow === "earth") return new Matrix4();
  const attitude = attitudeOf(truth);
  if (follow === "aircraft") return new Matrix4().makeRotationFromQuaternion(attitude);
  // Only the rotation about the vertical; smooth through vertical and inverted attitudes.
  return new Matrix4().makeRotationZ(2 * Math.atan2(attitude.z, attitude.w));
}
