// Where the camera stands for a camera state; a wider field never cuts what is looked at.

import { MathUtils, type PerspectiveCamera, Vector3 } from "three";
import type { BenchFrame, CameraState, Look, ViewState } from "./frame.ts";
import type { Model } from "./model.ts";
import { baseOf } from "./pose.ts";

export const FIELD_DEG = 26;

interface Sphere {
  /** In the aircraft's axes, mm. */
  middle: readonly [number, number, number];
  radius: number;
}

const TOGETHER: Record<Look, Sphere> = {
  rotor: { middle: [0, 0, 0], radius: 54 },
  card: { middle: [-58, 0, 0], radius: 62 },
  air: { middle: [112, 0, -12], radius: 172 },
  whole: { middle: [-6, 0, 4], radius: 94 },
};
const APART: Record<Look, Sphere> = {
  rotor: { middle: [0, 0, -72], radius: 128 },
  card: { middle: [-142, 0, 0], radius: 66 },
  air: { middle: [190, 0, -16], radius: 230 },
  whole: { middle: [-10, 0, -42], radius: 205 },
};

const between = (a: Sphere, b: Sphere, share: number): Sphere => ({
  middle: [0, 1, 2].map((i) => MathUtils.lerp(a.middle[i] as number, b.middle[i] as number, share)) as [
    number,
    number,
    number,
  ],
  radius: MathUtils.lerp(a.radius, b.radius, share),
});

/** Sets the camera; the model must have been posed with the same frame. */
export function aim(
  camera: PerspectiveCamera,
  model: Model,
  frame: BenchFrame,
  state: CameraState,
  view: ViewState,
): void {
  const { middle, radius } = between(TOGETHER[state.look], APART[state.look], view.explode);
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
  // In a tall picture the width is what must hold the sphere.
  const narrow = Math.atan(Math.tan(half) * Math.min(1, camera.aspect));
  const away = (radius / Math.sin(narrow)) * state.distance;
  camera.position.copy(target).addScaledVector(toWorld(toEye), away);
  camera.up.copy(toWorld(new Vector3(0, 0, -1)));
  camera.near = Math.max(away - 420, away / 40);
  camera.far = away + 700;
  camera.lookAt(target);
  camera.updateProjectionMatrix();
  camera.updateMatrixWorld();
}
