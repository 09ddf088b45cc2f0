// Camera movements by the user: pure changes of its state, with limits.

import type { CameraState, Look } from "../frame.ts";

export const HOME: CameraState = { orbit_deg: 56, height_deg: 18, distance: 1, look: "whole" };
/** The best view of each part. */
export const BEST: Record<Look, CameraState> = {
  whole: HOME,
  rotor: { orbit_deg: 62, height_deg: 14, distance: 1, look: "rotor" },
  card: { orbit_deg: 6, height_deg: 4, distance: 1, look: "card" },
  air: { orbit_deg: 80, height_deg: 12, distance: 1, look: "air" },
};

const NEAREST = 0.25;
const FARTHEST = 4;
const clamp = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);

export function orbited(camera: CameraState, right_deg: number, up_deg: number): CameraState {
  return {
    ...camera,
    orbit_deg: (((camera.orbit_deg + right_deg) % 360) + 360) % 360,
    height_deg: clamp(camera.height_deg + up_deg, -80, 85),
  };
}

/** More than 1 moves away. */
export function zoomed(camera: CameraState, factor: number): CameraState {
  return { ...camera, distance: clamp(camera.distance * factor, NEAREST, FARTHEST) };
}
