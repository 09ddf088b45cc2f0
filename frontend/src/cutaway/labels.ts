// What the labels say and what they point at, for a moment.

import { type Object3D, Vector3 } from "three";
import { belowCabin_inhg } from "./air.ts";
import { LEAST_TORQUE_NM, torqueInGimbal } from "./arrows.ts";
import type { BenchFrame, ViewState } from "./frame.ts";
import type { Model } from "./model.ts";
import type { Scheme } from "./palette.ts";

export interface Label {
  text: string;
  /** What it points at, in the world. */
  at: Vector3;
  colour: string;
  /** Beside the picture with a line to its part, or right at the point. */
  beside: boolean;
}

/** When a label is there: always, with all labels, or with the air. */
type Rank = "few" | "all" | "air";

const point = (of: Object3D, x: number, y: number, z: number): Vector3 => of.localToWorld(new Vector3(x, y, z));

const AIR_SIGN = "below cabin";
const inhg = (value: number): string => `${Math.abs(value).toFixed(1)} inHg ${AIR_SIGN}`;

function partLabels(model: Model): (readonly [Rank, string, Vector3])[] {
  const { outer, body } = model;
  const hinge = model.housingLift;
  const rotor = model.rotorLift;
  return [
    ["few", "rotor with buckets", point(rotor, 0, 0, -20)],
    ["few", "housing (inner gimbal)", point(hinge, 0, 29, 0)],
    ["few", "vertical gimbal", point(outer, 0, 0, -35)],
    ["few", "bevel gears", point(body, -42, 0, model.gimbalGear.position.z + 42)],
    ["few", "card", point(model.card.group.parent as Object3D, model.card.group.position.x - 57, 0, 30)],
    ["few", "setting knob", point(model.knob, -80, 0, 0)],
    ["all", "lubber line", point(model.front, -60, 0, -42)],
    ["all", "stop, 85° either way", point(model.gimbal.stops, 8, 40, -2)],
    ["all", "caging ring and fork", point(model.fork, 0, 40, -36)],
    ["all", "pinion of the knob", point(model.knob, -58, 0, 12)],
    ["all", "air jets", point(model.nozzles.group, 0, -22, -17)],
    ["all", "case", point(model.case.shell, 58, -30, 40)],
  ];
}

function airLabels(model: Model, frame: BenchFrame): (readonly [Rank, string, Vector3])[] {
  const { air } = frame;
  if (!air) return [];
  const of = model.air;
  const jets = air.jet_mps > 1 ? `jets ${air.jet_mps.toFixed(0)} m/s` : "jets still";
  return [
    ["air", "cabin air in: filter", point(of, 128, 0, -100)],
    ["air", `after the filter ${inhg(belowCabin_inhg("filtered", air))}`, point(of, 106, 0, -53)],
    ["air", jets, point(model.nozzles.group, 0, -22, -17)],
    ["air", `case and manifold ${inhg(air.manifold_inhg)}`, point(of, 100, 0, 34)],
    ["air", air.regulator_g_s > 0.01 ? "regulator, open" : "regulator, shut", point(of, 158, 0, -4)],
    ["air", "suction gauge", point(of, 192, 12, -76)],
    ["air", air.engine_rpm > 0 ? "pump, air out" : "pump, stopped", point(of, 246, 0, 52)],
  ];
}

const size_nm = (torque_nm: number): string =>
  torque_nm >= 1e-4 ? `${(torque_nm * 1000).toFixed(1)} mN m` : `${(torque_nm * 1e6).toFixed(1)} µN m`;

function rate(frame: BenchFrame): string {
  const { precession_card_deg_h, precession_tilt_deg_h } = frame.gyro;
  const deg_h = Math.hypot(precession_card_deg_h, precession_tilt_deg_h);
  return deg_h > 3600 ? `${(deg_h / 3600).toFixed(1)}°/s` : deg_h > 300 ? `${(deg_h / 60).toFixed(0)}°/min` : `${deg_h.toFixed(0)}°/h`;
}

function arrowLabels(model: Model, frame: BenchFrame, scheme: Scheme): Label[] {
  const made: Label[] = [];
  const add = (text: string, at: Vector3, colour: string): void => {
    made.push({ text, at, colour, beside: false });
  };
  const { arrows } = model;
  if (arrows.spin.visible) add("spin axis", point(arrows.spin, 80, 0, 0), scheme.spin);
  if (arrows.turning.visible) {
    const torque = torqueInGimbal(frame.gyro).length();
    const tip = 58 + 11 * Math.log10(1 + torque / 1e-6);
    if (torque > LEAST_TORQUE_NM) add(`torque ${size_nm(torque)}`, point(arrows.torque.group, tip, 0, 0), scheme.torque);
    if (arrows.precession.group.visible) {
      add(`precession ${rate(frame)}`, point(arrows.precession.group, tip, 0, 0), scheme.precession);
      add("axis goes", point(arrows.going.group, 32, 0, 0), scheme.precession);
    }
  }
  if (arrows.finger.visible) {
    add(`finger ${size_nm(Math.abs(frame.gyro.finger_nm))}`, point(arrows.push.group, -40, 0, 0), scheme.finger);
  }
  return made;
}

function stateLabels(model: Model, frame: BenchFrame, scheme: Scheme): Label[] {
  const made: Label[] = [];
  const at = point(model.gimbal.stops, 0, 44, 0);
  if (frame.gyro.on_stop) made.push({ text: "ON THE STOP", at, colour: scheme.stop, beside: true });
  if (frame.gyro.caged) made.push({ text: "CAGED", at: point(model.fork, 0, 42, -18), colour: scheme.stop, beside: true });
  return made;
}

export function labelsOf(model: Model, frame: BenchFrame, view: ViewState, scheme: Scheme): Label[] {
  const wanted = view.labels ?? (view.explode > 0.25 ? "all" : "few");
  const showAir = model.air.visible;
  const parts = wanted === "none" ? [] : [...partLabels(model), ...(showAir ? airLabels(model, frame) : [])];
  const kept = parts.filter(([rank, text]) => {
    if (rank === "air") return true;
    if (showAir) return wanted === "all" ? text !== "air jets" : text === "card" || text.startsWith("rotor");
    return rank === "few" || wanted === "all";
  });
  const shown = view.hideCase ? kept.filter(([, text]) => text !== "case" && text !== "lubber line") : kept;
  return [
    ...shown.map(([, text, at]) => ({ text, at, colour: scheme.ink, beside: true })),
    ...stateLabels(model, frame, scheme),
    ...(wanted === "none" ? [] : arrowLabels(model, frame, scheme)),
  ];
}
