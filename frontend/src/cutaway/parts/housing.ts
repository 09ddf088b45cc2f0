// The inner gimbal (housing): carries the rotor's bearings and turns in the outer gimbal about y.
// Outside the outer gimbal its pin carries the arm that meets the stops and the tail that is caged.

import { BoxGeometry, type Group } from "three";
import { addBalls } from "./fasteners.ts";
import type { Finish } from "../shapes/finish.ts";
import { pin, ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { HOUSING, STOP } from "../shapes/sizes.ts";
import { ABOUT_Y, ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

export function makeHousing(finish: Finish, segments: number): Group {
  const solid = new Solid().add(
    turned(ring(-HOUSING.half, HOUSING.half, HOUSING.inner, HOUSING.outer), segments),
    METAL.housing,
    ABOUT_Z,
  );
  for (const [from, to] of [
    [-36.4, -29.5],
    [29.5, 36.4],
  ] as const) {
    solid.add(turned(pin(from, to, 4), 20), METAL.housing);
  }
  solid.add(turned(pin(34, STOP.y + 1.6, 1.8), 14), METAL.steel, ABOUT_Y);
  solid.add(turned(pin(-43.6, -34, 1.8), 14), METAL.steel, ABOUT_Y);
  solid.add(turned(pin(STOP.y - 0.8, STOP.y + 0.8, 3.4), 18), METAL.housing, ABOUT_Y);
  solid.add(new BoxGeometry(2.4, 1.6, STOP.arm), METAL.housing, moved(0, STOP.y, STOP.arm / 2));
  solid.add(new BoxGeometry(2, 1.6, 7), METAL.housing, moved(0, STOP.y, -3.5));
  const bearings = new Solid();
  addBalls(bearings, 28, 2, 4.2);
  addBalls(bearings, -28, 2, 4.2);
  const group = solid.build("inner-gimbal", finish.metal, finish.line);
  return group.add(bearings.build("bearings", finish.metal, finish.line));
}
