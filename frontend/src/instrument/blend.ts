// Interpolates two frames: numbers linearly, angles the short way, all else from the later one.

import type { Frame } from "./messages.ts";

const ROUND = new Set([
  "heading_deg",
  "magnetic_deg",
  "track_deg",
  "indicated_deg",
  "compass_deg",
  "knob_deg",
]);
// Angles given as -180 to 180 rather than 0 to 360.
const ABOUT_ZERO = new Set(["bank_deg", "outer_deg", "longitude_deg", "error_deg", "compass_error_deg"]);

/** The difference from one angle to another, -180 to 180 degrees. */
export function shortWay(fromDeg: number, toDeg: number): number {
  return ((((toDeg - fromDeg + 180) % 360) + 360) % 360) - 180;
}

function blendNumber(name: string, from: number, to: number, share: number): number {
  if (ROUND.has(name)) return (((from + share * shortWay(from, to)) % 360) + 360) % 360;
  if (ABOUT_ZERO.has(name)) return shortWay(0, from + share * shortWay(from, to));
  if (name === "rotor_turns") return (((from + share * ((((to - from) % 1) + 1) % 1)) % 1) + 1) % 1;
  return from + share * (to - from);
}

function blendValue(name: string, from: unknown, to: unknown, share: number): unknown {
  if (typeof to === "number" && typeof from === "number") return blendNumber(name, from, to, share);
  if (Array.isArray(to)) {
    const same = Array.isArray(from) && from.length === to.length;
    return same && name === "ghosts" ? to.map((item, at) => blendValue("", from[at], item, share)) : to;
  }
  if (to === null || typeof to !== "object" || from === null || typeof from !== "object") return to;
  const blended: Record<string, unknown> = {};
  const before = from as Record<string, unknown>;
  for (const [field, value] of Object.entries(to)) blended[field] = blendValue(field, before[field], value, share);
  return blended;
}

export function blend(from: Frame, to: Frame, share: number): Frame {
  if (share >= 1 || from.scene !== to.scene || to.time_s < from.time_s) return to;
  return { ...(blendValue("", from, to, share) as Frame), n: to.n, viewers: to.viewers, pace: to.pace };
}
