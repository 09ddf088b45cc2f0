// Where the camera stands for a camera state; a wider picture never cuts off the subject.

import { MathUtils, type PerspectiveCamera, Vector3 } from "three";
import type { BenchFrame, CameraState, Look, Part, ViewState } from "../frame.ts";
import type { Model } from "../parts/model.ts";
import { baseOf } from "../parts/pose.ts";
import { airPoints, fitted, outlinePoints, type Place } from "./fit.ts";

export const FIELD_DEG = 26;

/** What must fit into the picture: half its height and half its width about its centre, mm. */
interface Extent {
  /** In the aircraft's axes. */
  middle: readonly [number, number, number];
  high: number;
  wide: number;
}

type Group = "instrument" | "rotor" | "card" | "air" | "whole";
/** Assembled, these fill the picture from whichever side they are seen. */
type Fitted = "instrument" | "air";
/** Below the way of the air stands its scale of pressure. */
const AIR_HIGH = 0.82;
const TOGETHER: Record<Exclude<Group, Fitted>, Extent> = {
  rotor: { middle: [-2, 0, 4], high: 84, wide: 84 },
  card: { middle: [-58, 0, 0], high: 63, wide: 66 },
  whole: { middle: [-6, 0, 12], high: 100, wide: 106 },
};
const APART: Record<Group, Extent> = {
  instrument: { middle: [-10, 0, -34], high: 168, wide: 232 },
  rotor: { middle: [0, 0, -62], high: 132, wide: 96 },
  card: { middle: [-150, 0, 0], high: 66, wide: 72 },
  air: { middle: [84, 0, -24], high: 200, wide: 420 },
  whole: { middle: [-10, 0, -34], high: 168, wide: 232 },
};

function between(a: Extent, b: Extent, share: number): Extent {
  const mix = (from: number, to: number): number => MathUtils.lerp(from, to, share);
  const [x, y, z] = a.middle;
  return {
    middle: [mix(x, b.middle[0]), mix(y, b.middle[1]), mix(z, b.middle[2])],
    high: mix(a.high, b.high),
    wide: mix(a.wide, b.wide),
  };
}

/** Room about a single part, as a share of its size; at least this, so that its neighbours are in the picture. */
const AROUND = 1.25;
const LEAST_MM = 26;

/** The group that a look is at: the whole view includes the air path while that is shown. */
const groupOf = (look: Look, model: Model): Look => (look === "whole" && model.air.visible ? "air" : look);
const isFitted = (group: Look): group is Fitted => group === "instrument" || group === "air";

function extentOf(group: Look, model: Model, view: ViewState): Extent {
  if (isFitted(group)) return APART[group];
  if (group in TOGETHER) return between(TOGETHER[group as keyof typeof TOGETHER], APART[group as Group], view.explode);
  const box = model.named.boxOf(group as Part, model.body.matrixWorld.clone().invert());
  if (!box) return between(TOGETHER.whole, APART.whole, view.explode);
  const { x, y, z } = box.getCenter(new Vector3());
  const size = box.getSize(new Vector3());
  const half = Math.max(LEAST_MM, (Math.max(size.x, size.y, size.z) / 2) * AROUND);
  return { middle: [x, y, z], high: half, wide: half };
}

/** Where a look's subject is, and how far away the eye is from it. */
function placeOf(look: Look, model: Model, view: ViewState, back: Vector3, up: Vector3, aspect: number): Place {
  const group = groupOf(look, model);
  const { middle, high, wide } = extentOf(group, model, view);
  const half = MathUtils.degToRad(FIELD_DEG / 2);
  const across = Math.atan(Math.tan(half) * aspect);
  const target = model.body.localToWorld(new Vector3(...middle));
  const away = Math.max(high / Math.sin(half), wide / Math.sin(across));
  if (!isFitted(group)) return { target, away };
  const whole = fitted(pointsOf(look, model, back), back, up, half, aspect, group === "air" ? AIR_HIGH : undefined);
  return { target: whole.target.lerp(target, view.explode), away: MathUtils.lerp(whole.away, away, view.explode) };
}

/** The instrument's outline in world coordinates, as it is seen from a direction; where the look is at it, that of the air too. */
export function pointsOf(look: Look, model: Model, back: Vector3): Vector3[] {
  const { body } = model;
  const side = back.clone().transformDirection(body.matrixWorld.clone().invert()).y;
  const air = groupOf(look, model) === "air" ? airPoints() : [];
  return [...outlinePoints(side), ...air].map((one) => body.localToWorld(one));
}

/** Sets the camera; the model must have been posed with the same frame. */
export function aim(
  camera: PerspectiveCamera,
  model: Model,
  frame: BenchFrame,
  state: CameraState,
  view: ViewState,
): void {
  const base = baseOf(frame.truth, view.follow ?? "heading");
  const orbit = MathUtils.degToRad(state.orbit_deg);
  const height = MathUtils.degToRad(MathUtils.clamp(state.height_deg, -89, 89));
  const toWorld = (x: number, y: number, z: number): Vector3 =>
    new Vector3(x, y, z).applyMatrix4(base).transformDirection(model.level.matrixWorld);
  const back = toWorld(-Math.cos(orbit) * Math.cos(height), Math.sin(orbit) * Math.cos(height), -Math.sin(height));
  const up = toWorld(0, 0, -1);
  const place = placeOf(state.look, model, view, back, up, camera.aspect);
  if (state.from) {
    const before = placeOf(state.from.look, model, view, back, up, camera.aspect);
    place.target.lerpVectors(before.target, place.target, state.from.done);
    place.away = MathUtils.lerp(before.away, place.away, state.from.done);
  }
  const away = place.away * state.distance;
  camera.position.copy(place.target).addScaledVector(back, away);
  camera.up.copy(up);
  camera.near = Math.max(away - 420, away / 40);
  camera.far = away + 700;
  camera.lookAt(place.target);
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}
