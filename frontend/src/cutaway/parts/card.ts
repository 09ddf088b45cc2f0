// The card: the disc the pilot reads, with its toothed edge; it slips on its gear when set.

import { CircleGeometry, type CanvasTexture, type Group, Matrix4, Mesh } from "three";
import { cardTexture } from "./cardface.ts";
import type { Finish } from "../shapes/finish.ts";
import { cardEdge } from "./gears.ts";
import { ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { CARD } from "../shapes/sizes.ts";
import { Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

/** Turns a flat drawing (x right, y up) to face the pilot. */
export const TO_PILOT = new Matrix4().set(0, 0, -1, 0, 1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 0, 1);

export interface Card {
  group: Group;
  texture: CanvasTexture;
}

export function makeCard(finish: Finish, segments: number): Card {
  const texture = cardTexture();
  const group = new Solid()
    .add(turned(ring(CARD.x, CARD.x + 1.5, 1, CARD.radius), segments), METAL.bezel)
    .add(cardEdge(), METAL.steelDark)
    .build("card", finish.metal, finish.line);
  const paint = finish.plain("#ffffff");
  paint.map = texture;
  const face = new Mesh(new CircleGeometry(CARD.radius, segments), paint);
  face.name = "card";
  face.applyMatrix4(new Matrix4().makeTranslation(CARD.x - 0.15, 0, 0).multiply(TO_PILOT));
  group.add(face);
  return { group, texture };
}
