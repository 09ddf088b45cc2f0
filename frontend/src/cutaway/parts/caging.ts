// Caging: pushed in, the knob lowers a ring on the outer gimbal's axis; a fork that rides under the
// ring, and turns with the gimbal, then holds the inner gimbal's tail, which keeps the inner gimbal level.

import { BoxGeometry, type Group } from "three";
import type { Finish } from "../shapes/finish.ts";
import { ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { STOP } from "../shapes/sizes.ts";
import { ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

/** The link from the knob's cone and the ring: does not turn. */
export function makeCagingLink(finish: Finish, segments: number): Group {
  return new Solid()
    .add(turned(ring(-47, -45.4, 32.5, 36), segments), METAL.steelDark, ABOUT_Z)
    .add(new BoxGeometry(2.4, 2.4, 86), METAL.steelDark, moved(-42, -51, -3))
    .add(new BoxGeometry(3, 28, 1.6), METAL.steelDark, moved(-30, -38, -46.2, turnedDown(-0.75)))
    .add(new BoxGeometry(8, 8, 2), METAL.steelDark, moved(-42, -47, 39))
    .build("caging", finish.metal, finish.line);
}

function turnedDown(angle: number): ReturnType<typeof moved> {
  return moved(0, 0, 0).makeRotationZ(angle);
}

/** The fork: turns with the outer gimbal. */
export function makeCagingFork(finish: Finish): Group {
  const solid = new Solid()
    .add(new BoxGeometry(3, 12, 1.6), METAL.steelDark, moved(0, 40.5, -44.4))
    .add(new BoxGeometry(2.2, 1.6, 29), METAL.steelDark, moved(0, STOP.y + 1.8, -31));
  solid.add(new BoxGeometry(5.4, 1.6, 1.8), METAL.steelDark, moved(0, STOP.y + 1.8, -18.6));
  for (const x of [-2, 2]) {
    solid.add(new BoxGeometry(1.4, 3.4, 7), METAL.steelDark, moved(x, STOP.y + 0.9, -14.9));
  }
  return solid.build("caging", finish.metal, finish.line);
}
