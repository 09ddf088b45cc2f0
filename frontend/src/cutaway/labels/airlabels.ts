// Labels along the air path: names, pressures and whether air flows.

import type { Vector3 } from "three";
import { belowCabin_inhg } from "../air.ts";
import type { BenchFrame } from "../frame.ts";
import { type Label, point } from "./label.ts";
import type { Model } from "../parts/model.ts";
import type { Scheme } from "../shapes/palette.ts";

const inhg = (value: number): string => `${Math.abs(value).toFixed(1)} inHg`;
const OPEN_G_S = 0.01;

/** `right` when seen from the right, with ahead on the right of the picture. */
export function airLabels(model: Model, { air, shown }: BenchFrame, scheme: Scheme, right: boolean): Label[] {
  if (!air) return [];
  const of = (x: number, z: number): Vector3 => point(model.air, x, 0, z);
  const jets = air.jet_mps > 1 ? `jets ${air.jet_mps.toFixed(0)} m/s` : "jets: no flow";
  const gauge = shown.gauge_inhg === null ? "" : ` ${shown.gauge_inhg.toFixed(1)}`;
  const ahead = right ? "left" : "right";
  const entries: (readonly [text: string, at: Vector3, stands: Label["stands"]])[] = [
    [jets, point(model.nozzles.group, 0, -24, -22), "beside"],
    [air.instrument_g_s > OPEN_G_S ? "cabin air in" : "no air in", of(128, -130), "center"],
    ["filter", of(153, -94), ahead],
    [`${inhg(belowCabin_inhg("filtered", air))} `, of(92, -67), "center"],
    [`suction gauge${gauge}`, of(222, -54), ahead],
    [air.regulator_g_s > OPEN_G_S ? "regulator open" : "regulator closed", of(148, 66), "center"],
    [inhg(air.manifold_inhg), of(100, 47), "center"],
    [air.engine_rpm > 0 ? "pump" : "pump stopped", of(242, 68), "center"],
    [air.pump_g_s > OPEN_G_S ? "air out" : "", of(297, 34), ahead],
  ];
  return entries.filter(([text]) => text).map(([text, at, stands]) => ({ text, at, stands, colour: scheme.ink }));
}
