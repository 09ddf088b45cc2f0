// Labels along the air path: names, pressures and whether air flows.

import type { Vector3 } from "three";
import { suctionFigure, suctionText } from "../../shared/suction.ts";
import { belowCabin_inhg } from "../air.ts";
import type { BenchFrame, Part } from "../frame.ts";
import type { Model } from "../parts/model.ts";
import { along, placesOf } from "./places.ts";

export interface Wanted {
  text: string;
  part: Part;
  places: Vector3[];
}

const inhg = (value: number): string => suctionText(Math.abs(value));
const OPEN_G_S = 0.01;

/** The gauge's name, with the figure that its dial has at the same moment. */
export const gaugeWords = ({ gauge_inhg }: BenchFrame["shown"]): string =>
  `suction gauge${gauge_inhg === null ? "" : ` ${suctionFigure(gauge_inhg)}`}`;

export function airLabels(model: Model, { air, shown }: BenchFrame, side: number): Wanted[] {
  if (!air) return [];
  const part = (text: string, id: Part): Wanted => ({ text, part: id, places: placesOf(model, id, side) });
  const hose = (text: string, stretch: keyof Model["hoses"], shares: readonly number[]): Wanted => ({
    text,
    part: "hose",
    places: along(model, stretch, shares),
  });
  return [
    part(air.jet_mps > 1 ? `jets ${air.jet_mps.toFixed(0)} m/s` : "jets: no flow", "jets"),
    part("filter", "filter"),
    part(gaugeWords(shown), "suction-gauge"),
    part(air.regulator_g_s > OPEN_G_S ? "regulator open" : "regulator closed", "regulator"),
    part(air.engine_rpm > 0 ? "pump" : "pump stopped", "pump"),
    hose(inhg(belowCabin_inhg("filtered", air)), "filtered", [0.5, 0.7]),
    hose(inhg(air.manifold_inhg), "manifold", [0.3, 0.5, 0.7]),
    hose(air.instrument_g_s > OPEN_G_S ? "cabin air in" : "no air in", "intake", [0.75, 0.85]),
    ...(air.pump_g_s > OPEN_G_S ? [hose("air out", "exhaust", [0.3, 0.5])] : []),
  ];
}
