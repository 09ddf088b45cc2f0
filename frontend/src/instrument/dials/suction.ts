// The suction gauge. The marked part is the usual range (common practice, no source); a handbook gives its own.

import type { SVGTemplateResult } from "lit-html";
import { suctionDecimals, suctionFigure, suctionIn, suctionUnit } from "../../shared/suction.ts";
import type { Frame } from "../messages.ts";
import type { Face } from "./face.ts";
import { roundDial } from "./round.ts";

export const USUAL_INHG = [4.5, 5.5] as const;

export function suctionWords(frame: Frame): string {
  const value = frame.shown.gauge_inhg;
  if (value === null) return "No suction gauge: the drive is electric";
  const where = value < USUAL_INHG[0] ? "below" : value > USUAL_INHG[1] ? "above" : "in";
  const unit = suctionUnit() === "hPa" ? "hectopascals" : "inches of mercury";
  return `Suction gauge: ${suctionFigure(value)} ${unit}, ${where} the usual range`;
}

export function suctionDial(frame: Frame, face: Face): SVGTemplateResult {
  const value = frame.shown.gauge_inhg;
  const unit = suctionUnit();
  const [greatest, step] = unit === "hPa" ? [250, 50] : [7, 1];
  const good = [suctionIn(USUAL_INHG[0]), suctionIn(USUAL_INHG[1])] as const;
  const shown = value === null ? null : suctionIn(value);
  return roundDial(
    { title: "suction", unit, value: shown, greatest, step, decimals: suctionDecimals(), good },
    face,
  );
}
