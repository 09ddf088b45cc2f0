// The two equal mitre gears: one on the outer gimbal's shaft, one behind the card. They mesh below.

import { BoxGeometry, type Group, Matrix4 } from "three";
import { bevelBlank, bevelTeeth } from "../shapes/bevel.ts";
import type { Finish } from "../shapes/finish.ts";
import { pin, ring, spur } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { BEVEL, CARD } from "../shapes/sizes.ts";
import { ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { extruded, turned } from "../shapes/turned.ts";

const AFT = new Matrix4().makeRotationZ(Math.PI);

/** Below the outer gimbal, and turns with it. */
export function makeGimbalGear(finish: Finish, segments: number): Group {
  const solid = new Solid()
    .add(bevelBlank(segments), METAL.gearGimbal, ABOUT_Z)
    .add(bevelTeeth(0), METAL.gearGimbal, ABOUT_Z)
    .add(turned(pin(42, 50, 5.5), 20), METAL.gearGimbal, ABOUT_Z);
  for (const turn of [0, 1, 2]) {
    const spoke = new BoxGeometry(2 * BEVEL.hole + 3, 4.5, 2.5);
    solid.add(spoke, METAL.gearGimbal, new Matrix4().makeRotationZ((turn * Math.PI) / 3).multiply(moved(0, 0, 47)));
  }
  return solid.build("bevel-gears", finish.metal, finish.line);
}

/** Behind the card: turns with the outer gimbal, whatever the card is set to. */
export function makeCardGear(finish: Finish, segments: number): Group {
  return new Solid()
    .add(bevelBlank(segments), METAL.gearCard, AFT)
    .add(bevelTeeth(0.5), METAL.gearCard, AFT)
    .add(turned(ring(-53, -48, BEVEL.hole, BEVEL.hole + 3), segments), METAL.gearCard)
    .build("bevel-gears", finish.metal, finish.line);
}

/** The card's own toothed edge, which the knob's pinion turns. */
export function cardEdge(): ReturnType<typeof extruded> {
  const outline = spur(CARD.spurTeeth, CARD.spurPitch - 1.3, CARD.spurPitch + 1);
  return extruded(outline, () => CARD.spurPitch - 5, -55.5, -52.5);
}
