// Finds the part under a point of the picture.

import { Matrix4, Raycaster, Vector2, Vector3 } from "three";
import type { Part } from "../frame.ts";
import { isShown, partOf } from "../parts/named.ts";
import { CARD } from "../shapes/sizes.ts";
import type { Stage } from "./stage.ts";

/** At a point from -1 to 1 across and up; null for none. */
export function pickAt(stage: Stage, across: number, up: number): Part | null {
  const ray = new Raycaster();
  ray.setFromCamera(new Vector2(across, up), stage.camera);
  for (const { object } of ray.intersectObject(stage.model.body, true)) {
    const part = isShown(object) ? partOf(object) : null;
    if (part && part !== "spin-axis") return part;
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

/** How much of the picture's width or height a part takes up, whichever is more. */
export function shareOf(stage: Stage, part: Part): number {
  const box = stage.model.named.boxOf(part, new Matrix4().multiplyMatrices(stage.camera.projectionMatrix, stage.camera.matrixWorldInverse));
  if (!box) return 0;
  const share = (low: number, high: number): number => Math.max(0, Math.min(high, 1) - Math.max(low, -1)) / 2;
  return Math.max(share(box.min.x, box.max.x), share(box.min.y, box.max.y));
}
