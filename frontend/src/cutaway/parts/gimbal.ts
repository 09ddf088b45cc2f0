// The outer gimbal: a ring that turns about the case's vertical axis, with the two stops on its side.

import { BoxGeometry, Group, Mesh } from "three";
import type { Studio } from "../view/studio.ts";
import { addBalls } from "./fasteners.ts";
import type { Finish } from "../shapes/finish.ts";
import { pin, ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { GIMBAL, STOP } from "../shapes/sizes.ts";
import { ABOUT_Y, ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

export interface VerticalGimbal {
  ring: Group;
  stops: Group;
  stopPaint: Studio;
}

export function makeGimbal(finish: Finish, segments: number): VerticalGimbal {
  const solid = new Solid()
    .add(turned(ring(-GIMBAL.half, GIMBAL.half, GIMBAL.inner, GIMBAL.outer), segments), METAL.gimbal)
    .add(turned(pin(-50, -39, 2.8), 16), METAL.steel, ABOUT_Z)
    .add(turned(pin(-44, -40, 5), 20), METAL.gimbal, ABOUT_Z)
    .add(turned(pin(39, 52, 2.8), 16), METAL.steel, ABOUT_Z)
    .add(turned(ring(40, 42.8, 1.9, 4.8), 24), METAL.gimbal, ABOUT_Y)
    .add(turned(ring(-42.8, -40, 1.9, 4.8), 24), METAL.gimbal, ABOUT_Y);
  const bearings = new Solid();
  for (const y of [43.2, -43.2]) addBalls(bearings, y, 2.1, 4, ABOUT_Y);
  const group = solid.build("outer-gimbal", finish.metal, finish.line);
  group.add(bearings.build("bearings", finish.metal, finish.line));
  return { ring: group, ...makeStops(finish) };
}

/** Two pegs that the inner gimbal's arm meets at 85 degrees either way. */
function makeStops(finish: Finish): { stops: Group; stopPaint: Studio } {
  const stops = new Group();
  const stopPaint = finish.paint(METAL.stop);
  // Peg and arm have a width: this is the distance of their centres when they touch.
  const beyond = Math.asin(2.6 / STOP.arm);
  const angle = (STOP.degrees * Math.PI) / 180 + beyond;
  for (const side of [-1, 1]) {
    const x = side * STOP.arm * Math.sin(angle);
    const z = STOP.arm * Math.cos(angle);
    const peg = turned(pin(40.6, STOP.y + 1.6, 1.5), 16).applyMatrix4(moved(x, 0, z, ABOUT_Y));
    const foot = new BoxGeometry(Math.abs(x), 1.6, 3.2).applyMatrix4(moved(x / 2, 41.6, z));
    for (const piece of [peg, foot]) {
      const mesh = new Mesh(piece, stopPaint);
      mesh.name = "stops";
      stops.add(mesh);
    }
  }
  return { stops, stopPaint };
}
