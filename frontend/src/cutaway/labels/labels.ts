// The labels of a moment and the points they lead to: only parts that are seen have one.

import { type Object3D, type PerspectiveCamera, Vector3 } from "three";
import { airLabels, type Wanted } from "./airlabels.ts";
import { arrowLabels } from "./arrowlabels.ts";
import { type BenchFrame, type Look, ownNames, type Part, PARTS, type ViewState } from "../frame.ts";
import { type Label, point } from "./label.ts";
import type { Model } from "../parts/model.ts";
import { belongs } from "../parts/named.ts";
import { placesOf } from "./places.ts";
import type { Scheme } from "../shapes/palette.ts";
import { CARD } from "../shapes/sizes.ts";
import { outlinePoints } from "../view/fit.ts";

/** Always labelled; the others only with all labels, or when they are spoken of. */
const FEW: readonly Part[] = ["rotor", "inner-gimbal", "outer-gimbal", "bevel-gears", "card", "setting-knob"];
const MORE: readonly Part[] = ["lubber-line", "stops", "caging", "pinion", "jets", "buckets", "bearings", "case"];
const AIR: readonly Part[] = ["filter", "regulator", "pump", "suction-gauge", "hose"];
const FULL: Partial<Record<Part, string>> = {
  rotor: "rotor (buckets on its rim)",
  "inner-gimbal": "inner gimbal (housing)",
  stops: "stops, 85° either way",
  ...ownNames(),
};
/** Points further out than this, with half the picture as 1, have no label. */
const EDGE = 0.97;
const MOST_PLACES = 4;

/** Whether the card is in front of everything else. */
function facesCard(eye: Vector3, view: ViewState): boolean {
  return eye.x < 0 && Math.hypot(eye.y, eye.z) < -0.5 * eye.x && view.explode < 0.25;
}

/** Those of the places that are in the picture and are seen there, as many as are worth trying. */
function seenAt(model: Model, camera: PerspectiveCamera, { part, places }: Wanted): Vector3[] {
  const inPicture = (at: Vector3): boolean => {
    const { x, y, z } = at.clone().project(camera);
    return z < 1 && Math.max(Math.abs(x), Math.abs(y)) < EDGE;
  };
  const seen: Vector3[] = [];
  for (const at of places) {
    if (inPicture(at) && belongs(part, model.sight.first(camera.position, at))) seen.push(at);
    if (seen.length === MOST_PLACES) break;
  }
  return seen;
}

function stateLabels(model: Model, frame: BenchFrame, side: number): Wanted[] {
  const made: Wanted[] = [];
  if (frame.gyro.on_stop) made.push({ text: "ON THE STOP", part: "stops", places: placesOf(model, "stops", side) });
  if (frame.gyro.caged) made.push({ text: "CAGED", part: "caging", places: placesOf(model, "caging", side) });
  return made;
}

/** All labels of a moment, in the order in which they get their places; the model must have been posed for it. */
export function labelsOf(
  model: Model,
  frame: BenchFrame,
  view: ViewState,
  scheme: Scheme,
  camera: PerspectiveCamera,
  look: Look,
): Label[] {
  const eye = model.body.worldToLocal(camera.position.clone());
  const side = Math.sign(eye.y) || 1;
  // Close to the rotor or the card, names along the hoses would cover the parts of interest.
  const showAir = showsAirsWay(model, look);
  const wanted = view.labels ?? (view.explode > 0.25 && !showAir ? "all" : "few");
  const seen = (from: readonly Wanted[], stands: "beside" | "near", colour: string): Label[] =>
    from.flatMap((one) => {
      const at = seenAt(model, camera, one);
      return at.length ? [{ text: one.text, short: PARTS[one.part], part: one.part, at, colour, stands }] : [];
    });
  const state = seen(stateLabels(model, frame, side), "near", scheme.stop);
  if (wanted === "none") return state;
  const front = facesCard(eye, view);
  const few = front ? [...FEW, "lubber-line" as const] : FEW;
  const meant = [...(view.spoken ? [view.spoken] : []), ...(view.mentioned ?? [])];
  const parts = [...new Set<Part>([...meant, ...few, ...(wanted === "all" ? MORE : [])])];
  const along = showAir ? airLabels(model, frame, side) : [];
  const named = parts
    .filter((part) => part !== "spin-axis" && (!AIR.includes(part) || (model.air.visible && !showAir)) && !(showAir && part === "jets"))
    .map((part) => ({ text: (wanted === "all" && part === "rotor" ? null : FULL[part]) ?? PARTS[part], part, places: placesOf(model, part, side) }));
  const all = [
    ...state,
    ...arrowLabels(model, frame, scheme),
    ...seen(along, "near", scheme.ink),
    ...seen(named, "beside", scheme.ink),
  ];
  // What is spoken of has its place first.
  const rank = ({ part }: Label): number => (part && meant.includes(part) ? meant.indexOf(part) : meant.length);
  return all.sort((a, b) => rank(a) - rank(b));
}

/** Whether the whole air path is shown, with its names and its scale of pressure. */
export function showsAirsWay(model: Model, look: Look): boolean {
  return model.air.visible && (look === "whole" || look === "air");
}

/** Corners of the instrument, which columns of labels keep clear of. */
export function cornersOf(model: Model, view: ViewState): Vector3[] {
  const half = view.hideCase ? 48 : 60;
  const box = (of: Object3D, x: number): Vector3[] => [-half, half].flatMap((y) => [-half, half].map((z) => point(of, x, y, z)));
  return [...box(model.front, -66), ...box(model.case.group, 58), ...[-10, 10].map((y) => point(model.knob, -80, y, 0))];
}

/** The body of the instrument, which labels stand beside where they can; taken apart it has none. */
export function bodyOf(model: Model, camera: PerspectiveCamera, view: ViewState): Vector3[] {
  if (view.explode > 0.25) return [];
  const { y } = model.body.worldToLocal(camera.position.clone()).normalize();
  return outlinePoints(y).map((one) => model.body.localToWorld(one));
}

/** The setting knob, where the eye is not behind the instrument. */
export function knobOf(model: Model, camera: PerspectiveCamera): Vector3[] {
  if (model.body.worldToLocal(camera.position.clone()).x > 0) return [];
  return [-73, -86].flatMap((x) => Array.from({ length: 12 }, (_, i) => point(model.knob, x, 10 * Math.cos((i * Math.PI) / 6), 10 * Math.sin((i * Math.PI) / 6))));
}

/** Outlines that no label covers: the card's face and the gauge's, where they are seen from their front. */
export function facesOf(model: Model, camera: PerspectiveCamera): Vector3[][] {
  const eye = model.body.worldToLocal(camera.position.clone());
  const circle = (of: Object3D, at: (a: number, b: number) => [number, number, number], radius: number): Vector3[] =>
    Array.from({ length: 24 }, (_, i) => point(of, ...at(radius * Math.cos((i * Math.PI) / 12), radius * Math.sin((i * Math.PI) / 12))));
  const x = model.card.group.position.x + CARD.x;
  return [
    ...(eye.x < x ? [circle(model.body, (a, b) => [x, a, b], CARD.radius)] : []),
    ...(model.air.visible ? [circle(model.equipment.gauge, (a, b) => [a, 14, b], 22)] : []),
  ];
}
