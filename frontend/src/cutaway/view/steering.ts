// Camera movements by the user: pure changes of its state, with limits.

import type { CameraState, Look, Part } from "../frame.ts";

export const HOME: CameraState = { orbit_deg: 56, height_deg: 18, distance: 1, look: "whole" };
/** The best view of each group of parts. */
export const BEST: Record<"instrument" | "rotor" | "card" | "air" | "whole", CameraState> = {
  whole: HOME,
  instrument: { ...HOME, look: "instrument" },
  rotor: { orbit_deg: 62, height_deg: 14, distance: 1, look: "rotor" },
  card: { orbit_deg: 6, height_deg: 4, distance: 1, look: "card" },
  air: { orbit_deg: 80, height_deg: 12, distance: 1, look: "air" },
};

/** Closer than this a look at the rotor is at the rotor alone. */
const CLOSE = 0.75;

/** A camera of a scene on a page that shows the instrument as large as it can: as the same side of the whole of it. */
export function enlarged(camera: CameraState): CameraState {
  const { look, distance } = camera;
  const near = { ...camera, distance: Math.min(distance, 1) };
  if (look !== "whole" && look !== "instrument" && (look !== "rotor" || distance <= CLOSE)) return near;
  return { ...near, look: "instrument", distance: look === "rotor" ? 1 : near.distance };
}

/** Where a part is seen best from: orbit and height; otherwise as the rotor. */
const SIDES: Partial<Record<Part, readonly [orbit_deg: number, height_deg: number]>> = {
  card: [6, 4],
  "lubber-line": [8, 10],
  "setting-knob": [-24, 8],
  pinion: [-40, 14],
  "bevel-gears": [66, -8],
  caging: [70, 34],
  stops: [84, 16],
  jets: [-62, 24],
  case: [56, 18],
  filter: [80, 12],
  hose: [80, 12],
  regulator: [80, 12],
  "suction-gauge": [80, 8],
  pump: [80, 12],
};

/** The best view of a part, or of a group of parts, with the outer gimbal at an angle. */
export function bestOf(look: Look, outer_deg = 0): CameraState {
  if (look in BEST) return BEST[look as keyof typeof BEST];
  const [orbit_deg, height_deg] = SIDES[look as Part] ?? [facing(outer_deg), 14];
  return { orbit_deg, height_deg, distance: 1, look };
}

/** An orbit from which the rotor's face is seen at a slant, whichever way it points, with the front not in the way. */
function facing(outer_deg: number): number {
  const apart = (a: number): number => Math.abs(((((a - BESIDE_DEG) % 360) + 540) % 360) - 180);
  const slants = [SLANT_DEG, -SLANT_DEG, 180 - SLANT_DEG, SLANT_DEG - 180].map((slant) => 180 - outer_deg + slant);
  return slants.reduce((best, one) => (apart(one) < apart(best) ? one : best));
}

/** A moment of the move from one view to another; done from 0 to 1, eased. */
export function between(before: CameraState, after: CameraState, done: number): CameraState {
  if (done >= 1) return after;
  const share = done * done * (3 - 2 * done);
  const mix = (a: number, b: number): number => a + (b - a) * share;
  const turn_deg = ((((after.orbit_deg - before.orbit_deg) % 360) + 540) % 360) - 180;
  return {
    orbit_deg: before.orbit_deg + turn_deg * share,
    height_deg: mix(before.height_deg, after.height_deg),
    distance: mix(before.distance, after.distance),
    look: after.look,
    from: { look: before.look, done: share },
  };
}

/** From here the front is not in the way. */
const BESIDE_DEG = 80;
const SLANT_DEG = 62;
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
