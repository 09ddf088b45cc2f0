// What the error is measured against: magnetic or true heading, as the bench says.

import type { Frame } from "../messages.ts";

export function referenceDeg(frame: Frame): number {
  return frame.shown.indicated_deg - frame.shown.error_deg;
}

export function referenceName(frame: Frame): "magnetic" | "true" {
  return frame.reference ?? "magnetic";
}
