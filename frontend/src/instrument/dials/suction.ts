// The suction gauge. The marked part is the usual range (common practice, no source); a handbook gives its own.

import type { SVGTemplateResult } from "lit-html";
import type { Frame } from "../messages.ts";
import type { Face } from "./face.ts";
import { roundDial } from "./round.ts";

export const USUAL_INHG = [4.5, 5.5] as const;

export function suctionWords(frame: Frame): string {
  const value = frame.shown.gauge_inhg;
  if (value === null) return "No suction gauge: the drive is electric";
  const where = value < USUAL_INHG[0] ? "below" : value > USUAL_INHG[1] ? "above" : "in";
  return `Suction gauge: ${value.toFixed(1)} inches of mercury, ${where} the usual range`;
}

export function suctionDial(frame: Frame, face: Face): SVGTemplateResult {
  const value = frame.shown.gauge_inhg;
  return roundDial(
    { title: "suction", unit: "inHg", value, greatest: 7, step: 1, decimals: 1, good: USUAL_INHG },
    face,
  );
}
