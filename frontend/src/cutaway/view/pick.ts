// Finds the part under a point of the picture.

import { Raycaster, Vector2, Vector3 } from "three";
import type { Part } from "../frame.ts";
import { CARD } from "../shapes/sizes.ts";
import type { Stage } from "./stage.ts";

/** At a point from -1 to 1 across and up; null for none. */
export function pickAt(stage: Stage, across: number, up: number): Part | null {
  const ray = new Raycaster();
  ray.setFromCamera(new Vector2(across, up), stage.camera);
  for (const { object } of ray.intersectObject(stage.model.body, true)) {
    let seen = object.visible && object.name !== "";
    object.traverseAncestors((one) => (seen &&= one.visible));
    // The lubber line is on the window over the card: a finger there presses the card.
    if (seen) return object.name === "lubber line" ? "card" : (object.name as Part);
  }
  return null;
}

/** The card's centre and projected half width in a picture of the given size. */
export function cardAt(stage: Stage, width: number, height: number): { x: number; y: number; radius: number } {
  const { body, card } = stage.model;
  const across = (y: number): Vector3 =>
    body.localToWorld(new Vector3(card.group.position.x + CARD.x, y, 0)).project(stage.camera);
  const [middle, right] = [across(0), across(CARD.radius)];
  // From behind, the card's right is on the picture's left: the radius keeps the sign.
  const radius = ((right.x - middle.x) / 2) * width;
  return { x: ((middle.x + 1) / 2) * width, y: ((1 - middle.y) / 2) * height, radius };
}
