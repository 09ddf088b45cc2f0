// What the error is measured against: the frame gives the error, so the reference is the one that fits it.

import { shortWay } from "../blend.ts";
import type { Frame } from "../messages.ts";

export function referenceDeg(frame: Frame): number {
  return frame.shown.indicated_deg - frame.shown.error_deg;
}

export function referenceName(frame: Frame): "magnetic" | "true" {
  const reference = referenceDeg(frame);
  const toMagnetic = Math.abs(shortWay(reference, frame.truth.magnetic_deg));
  const toTrue = Math.abs(shortWay(reference, frame.truth.heading_deg));
  return toTrue < toMagnetic ? "true" : "magnetic";
}
