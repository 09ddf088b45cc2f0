// Speeds of rotation: the engine, as on a panel, and the rotor, which is not on any panel.

import type { SVGTemplateResult } from "lit-html";
import type { Frame } from "../messages.ts";
import type { Face } from "./face.ts";
import { roundDial, spaced } from "./round.ts";

export function engineWords(frame: Frame): string {
  return frame.air ? `Engine: ${spaced(frame.air.engine_rpm, 0)} rpm` : "Engine: does not drive this gyro";
}

export function engineDial(frame: Frame, face: Face): SVGTemplateResult {
  const value = frame.air ? frame.air.engine_rpm : null;
  return roundDial(
    { title: "engine", unit: "rpm", value, greatest: 3000, step: 500, decimals: 0, per: 100 },
    face,
  );
}

export function rotorWords(frame: Frame): string {
  return `Rotor: ${spaced(frame.shown.rotor_rpm, 0)} rpm; not on any panel`;
}

export function rotorDial(frame: Frame, face: Face): SVGTemplateResult {
  return roundDial(
    { title: "rotor (hidden)", unit: "rpm", value: frame.shown.rotor_rpm, greatest: 16000, step: 4000, decimals: 0, per: 1000 },
    face,
  );
}
