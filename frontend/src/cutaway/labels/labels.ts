// The labels of a moment and the points they lead to.

import { type Object3D, type PerspectiveCamera, Vector3 } from "three";
import { airLabels } from "./airlabels.ts";
import { arrowLabels } from "./arrowlabels.ts";
import type { BenchFrame, Look, ViewState } from "../frame.ts";
import { type Label, point } from "./label.ts";
import type { Model } from "../parts/model.ts";
import type { Scheme } from "../shapes/palette.ts";
import { BEVEL, CARD } from "../shapes/sizes.ts";

/** "few" labels are always shown, the others only with all labels. */
type Rank = "few" | "all";
type PartLabel = readonly [rank: Rank, text: string, at: Vector3, front: boolean];

function partLabels(model: Model, eye: Vector3): PartLabel[] {
  const { outer, body, card } = model;
  // On the visible side.
  const side = Math.sign(eye.y) || 1;
  const spinSide = Math.sign(model.rotorTilt.worldToLocal(body.localToWorld(eye.clone())).x) || 1;
  const across = Math.sign(outer.worldToLocal(body.localToWorld(eye.clone())).y) || 1;
  const below = model.gimbalGear.position.z;
  const face = card.group.position.x + CARD.x;
  return [
    ["few", "rotor (buckets on its rim)", point(model.rotorTilt, 7 * spinSide, -10 * across, 21), false],
    ["few", "inner gimbal (housing)", point(model.housingTilt, 24 * spinSide, 25 * across, 0), false],
    ["few", "outer gimbal", point(outer, 3 * spinSide, 20 * across, -34), false],
    ["few", "bevel gears", point(body, 10, side * (BEVEL.outer - 2), below + BEVEL.outer - 2), false],
    ["few", "card", point(body, face, -12, 40), true],
    ["few", "setting knob", point(model.knob, -80, 0, 0), true],
    ["all", "lubber line", point(model.front, -60, 0, -42), true],
    ["all", "card gear", point(body, model.cardGear.position.x - 46, side * 12, -42), false],
    ["all", "stop, 85° either way", point(model.gimbal.stops, 8, 45, -2), false],
    ["all", "caging fork", point(model.fork, 0, 47, -30), false],
    ["all", "caging ring", point(model.link, 30, 17 * side, -46), false],
    ["all", "knob pinion", point(model.knob, -58, 0, 12), false],
    ["all", "air jets", point(model.nozzles.group, 0, -24, -22), false],
    ["all", "case", point(model.case.shell, 58, -30, 40), true],
  ];
}

/** Whether the card is in front of everything else. */
function facesCard(eye: Vector3, view: ViewState): boolean {
  return eye.x < 0 && Math.hypot(eye.y, eye.z) < -0.5 * eye.x && view.explode < 0.25;
}

function stateLabels(model: Model, frame: BenchFrame, scheme: Scheme): Label[] {
  const made: Label[] = [];
  const add = (text: string, at: Vector3): void => {
    made.push({ text, at, colour: scheme.stop, stands: "beside" });
  };
  if (frame.gyro.on_stop) add("ON THE STOP", point(model.gimbal.stops, 0, 46, 0));
  if (frame.gyro.caged) add("CAGED", point(model.fork, 0, 46, -12));
  return made;
}

/** On which side of the picture the front is, when parts are assembled and it is clearly on one side. */
function frontSide(model: Model, view: ViewState, camera: PerspectiveCamera): "left" | "right" | null {
  if (view.explode > 0.25) return null;
  const across = point(model.body, -60, 0, 0).project(camera).x - point(model.body, 0, 0, 0).project(camera).x;
  return Math.abs(across) < 0.06 ? null : across < 0 ? "left" : "right";
}

/** All labels of a moment; the model must have been posed for it. */
export function labelsOf(
  model: Model,
  frame: BenchFrame,
  view: ViewState,
  scheme: Scheme,
  camera: PerspectiveCamera,
  look: Look,
): Label[] {
  const state = stateLabels(model, frame, scheme);
  // Close to the rotor or the card, names along the hoses would cover the parts of interest.
  const showAir = showsAirsWay(model, look);
  const wanted = view.labels ?? (view.explode > 0.25 && !showAir ? "all" : "few");
  if (wanted === "none") return state;
  const seen = model.body.worldToLocal(camera.position.clone());
  const front = facesCard(seen, view);
  const hidden = view.hideCase ? ["case", "lubber line"] : [];
  const kept = partLabels(model, seen).filter(([rank, text, , atFront]) => {
    if (hidden.includes(text) || (front && !atFront) || (showAir && text === "air jets")) return false;
    if (showAir && wanted === "few") return text === "card" || text === "rotor (buckets on its rim)";
    return rank === "few" || wanted === "all" || (front && text === "lubber line");
  });
  const near = frontSide(model, view, camera);
  const far = near === "left" ? "right" : "left";
  // In the order in which they get their places.
  return [
    ...state,
    ...arrowLabels(model, frame, scheme),
    ...kept.map(([, text, at, atFront]) => ({
      text,
      at,
      colour: scheme.ink,
      stands: "beside" as const,
      ...(near && !showAir ? { side: atFront ? near : far } : {}),
    })),
    ...(showAir && !front ? airLabels(model, frame, scheme, seen.y >= 0) : []),
  ];
}

/** Whether the whole air path is shown, with its names and its scale of pressure. */
export function showsAirsWay(model: Model, look: Look): boolean {
  return model.air.visible && (look === "whole" || look === "air");
}

/** Corners of the drawing, which labels keep clear of. */
export function cornersOf(model: Model, view: ViewState): Vector3[] {
  const half = view.hideCase ? 46 : 58;
  const box = (of: Object3D, xs: readonly number[]): Vector3[] =>
    xs.flatMap((x) => [-half, half].flatMap((y) => [-half, half].map((z) => point(of, x, y, z))));
  return [...box(model.front, [-66]), ...box(model.air.visible ? model.air : model.case.shell, [58])];
}
