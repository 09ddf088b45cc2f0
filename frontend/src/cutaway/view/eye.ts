// Where the camera stands for a camera state; a wider picture never cuts off the subject.

import { MathUtils, type PerspectiveCamera, Vector3 } from "three";
import type { BenchFrame, CameraState, Look, ViewState } from "../frame.ts";
import type { Model } from "../parts/model.ts";
import { baseOf } from "../parts/pose.ts";

export const FIELD_DEG = 26;

/** What must fit into the picture: half its height and half its width about its centre, mm. */
interface Extent {
  /** In the aircraft's axes. */
  middle: readonly [number, number, number];
  high: number;
  wide: number;
}

const TOGETHER: Record<Look, Extent> = {
  rotor: { middle: [-2, 0, 4], high: 74, wide: 80 },
  card: { middle: [-58, 0, 0], high: 63, wide: 66 },
  air: { middle: [110, 0, -8], high: 128, wide: 192 },
  whole: { middle: [-6, 0, 12], high: 98, wide: 106 },
};
const APART: Record<Look, Extent> = {
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

/** Sets the camera; the model must have been posed with the same frame. */
export function aim(
  camera: PerspectiveCamera,
  model: Model,
  frame: BenchFrame,
  state: CameraState,
  view: ViewState,
): void {
  // The whole view includes the air path while that is shown.
  const look = state.look === "whole" && model.air.visible ? "air" : state.look;
  const { middle, high, wide } = between(TOGETHER[look], APART[look], view.explode);
  const target = model.body.localToWorld(new Vector3(...middle));
  const base = baseOf(frame.truth, view.follow ?? "heading");
  const orbit = MathUtils.degToRad(state.orbit_deg);
  const height = MathUtils.degToRad(MathUtils.clamp(state.height_deg, -89, 89));
  const toEye = new Vector3(
    -Math.cos(orbit) * Math.cos(height),
    Math.sin(orbit) * Math.cos(height),
    -Math.sin(height),
  );
  const toWorld = (direction: Vector3): Vector3 =>
    direction.applyMatrix4(base).transformDirection(model.level.matrixWorld);
  const half = MathUtils.degToRad(FIELD_DEG / 2);
  const across = Math.atan(Math.tan(half) * camera.aspect);
  const away = Math.max(high / Math.sin(half), wide / Math.sin(across)) * state.distance;
  camera.position.copy(target).addScaledVector(toWorld(toEye), away);
  camera.up.copy(toWorld(new Vector3(0, 0, -1)));
  camera.near = Math.max(away - 420, away / 40);
  camera.far = away + 700;
  camera.lookAt(target);
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}
