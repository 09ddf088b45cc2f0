// The front of the case: bezel with its window, and the lubber line and aircraft mark against which the card
// is read.

import { CircleGeometry, Group, Matrix4, Mesh, Shape, ShapeGeometry } from "three";
import { TO_PILOT } from "./card.ts";
import { addScrew } from "./fasteners.ts";
import type { Finish } from "../shapes/finish.ts";
import { ring, roundedSquare, sampled } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { CASE, KNOB } from "../shapes/sizes.ts";
import { moved, Solid } from "../shapes/solid.ts";
import { extruded, type Profile, turned } from "../shapes/turned.ts";

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
  // A lip hides the gap round the card.
  bezel.add(turned(ring(-59.4, -58, 46.2, 50), segments), METAL.bezel);
  // The flange by which it is screwed to the panel; the knob has the place of the fourth screw.
  bezel.add(extruded(sampled(roundedSquare(CASE.half + 2, CASE.corner + 1), 160), () => 50, -62.6, CASE.front), METAL.bezel);
  for (const [y, z, turn] of [[-49.5, -49.5, 0.4], [49.5, -49.5, 1.9], [49.5, 49.5, 2.7]] as const) {
    addScrew(bezel, 3.4, turn, moved(-62.6, y, z));
  }
  group.add(bezel.build("case", finish.metal, finish.line));
  const glass = new Mesh(new CircleGeometry(WINDOW_RADIUS, 64), finish.glass);
  glass.applyMatrix4(new Matrix4().makeTranslation(-65, 0, 0).multiply(TO_PILOT));
  glass.raycast = () => undefined;
  glass.renderOrder = 2;
  group.add(glass);
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
