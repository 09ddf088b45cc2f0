// The front of the case: bezel with its window, and the lubber line and aircraft mark against which the card
// is read.

import { Group, Matrix4, Mesh, Shape, ShapeGeometry } from "three";
import { TO_PILOT } from "./card.ts";
import type { Finish } from "../shapes/finish.ts";
import { ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { KNOB } from "../shapes/sizes.ts";
import { moved, Solid } from "../shapes/solid.ts";
import { type Profile, turned } from "../shapes/turned.ts";

const WINDOW_RADIUS = 47.5;
const BEZEL: Profile = [
  [-66, WINDOW_RADIUS],
  [-66, 51],
  [-63.5, 54],
  [-60, 54],
  [-60, WINDOW_RADIUS],
  [-66, WINDOW_RADIUS],
];

function flat(points: readonly (readonly [number, number])[]): ShapeGeometry {
  const shape = new Shape();
  points.forEach(([x, y], i) => (i ? shape.lineTo(x, y) : shape.moveTo(x, y)));
  return new ShapeGeometry(shape);
}

/** Half of the mark's outline, nose up; the other half is its mirror. */
const HALF_MARK = [
  [0, 15],
  [1.6, 11],
  [1.8, 5.5],
  [14, -1],
  [14, -3.6],
  [1.8, 0],
  [1.4, -9],
  [5.6, -12],
  [5.6, -14],
  [0, -12.6],
] as const;

export function makeFront(finish: Finish, segments: number): Group {
  const group = new Group();
  const bezel = new Solid()
    .add(turned(BEZEL, segments), METAL.bezel)
    .add(turned(ring(-64, -60, 2.6, 11), 32), METAL.bezel, moved(0, KNOB.across, KNOB.down));
  group.add(bezel.build("case", finish.metal, finish.line));
  const paint = finish.plain(METAL.lubber);
  const place = new Matrix4().makeTranslation(-60.5, 0, 0).multiply(TO_PILOT);
  const lubber = new Mesh(flat([[-2.6, 47.5], [2.6, 47.5], [1.1, 41.5], [1.1, 36], [-1.1, 36], [-1.1, 41.5]]), paint);
  const mirrored = [...HALF_MARK].reverse().map(([x, y]) => [-x, y] as const);
  const mark = new Mesh(flat([...HALF_MARK, ...mirrored]), paint);
  for (const one of [lubber, mark]) {
    one.name = "lubber-line";
    one.applyMatrix4(place);
    group.add(one);
  }
  return group;
}
