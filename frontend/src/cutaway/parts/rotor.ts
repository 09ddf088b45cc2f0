// The rotor: a brass wheel with buckets round its rim; drawn one by one, or blurred as at full speed.

import { BoxGeometry, Group } from "three";
import type { Finish } from "../shapes/finish.ts";
import { buckets, pin, ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { ROTOR } from "../shapes/sizes.ts";
import { moved, Solid } from "../shapes/solid.ts";
import { extruded, type Profile, turned } from "../shapes/turned.ts";

export interface Rotor {
  group: Group;
  slow: Group;
  fast: Group;
}

const WHEEL: Profile = [
  [-ROTOR.half, 0],
  [-ROTOR.half, 6],
  [-3, 8],
  [-3, 17.5],
  [-ROTOR.half, 19.5],
  [-ROTOR.half, ROTOR.root],
  [ROTOR.half, ROTOR.root],
  [ROTOR.half, 19.5],
  [3, 17.5],
  [3, 8],
  [ROTOR.half, 6],
  [ROTOR.half, 0],
];

function wheel(segments: number): Solid {
  return new Solid()
    .add(turned(WHEEL, segments), METAL.brass)
    .add(turned(pin(-33, 33, 2), 12), METAL.steel);
}

export function makeRotor(finish: Finish, segments: number): Rotor {
  const group = new Group();
  const rim = extruded(buckets(ROTOR.buckets, ROTOR.root, ROTOR.radius), () => 20, -6, 6);
  const slow = wheel(segments);
  // One painted spoke and bucket on each face, so that the rotation is visible.
  for (const x of [-3.2, 3.2]) slow.add(new BoxGeometry(0.5, 4, 9), METAL.mark, moved(x, 0, -12.8));
  for (const x of [-7.1, 7.1]) slow.add(new BoxGeometry(0.5, 4, 4.4), METAL.mark, moved(x, 0, -21.8));
  const fast = wheel(segments)
    .add(turned(ring(-3.1, -3.05, 10, 15), segments), METAL.brassDark, undefined, false)
    .add(turned(ring(3.05, 3.1, 10, 15), segments), METAL.brassDark, undefined, false);
  const parts = {
    group,
    slow: slow.build("rotor", finish.metal, finish.line),
    fast: fast.build("rotor", finish.metal, finish.line),
  };
  const blurred = turned(ring(-6, 6, 20, 27.2), segments);
  parts.slow.add(new Solid().add(rim, METAL.brass).build("buckets", finish.metal, finish.line));
  parts.fast.add(new Solid().add(blurred, METAL.brass).build("buckets", finish.metal, finish.line));
  group.add(parts.slow, parts.fast);
  return parts;
}
