// Screws, and ball bearings with their races.

import { BoxGeometry, Matrix4, OctahedronGeometry } from "three";
import { ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { moved, type Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

/** A slotted screw whose head faces -x before it is placed. */
export function addScrew(solid: Solid, radius: number, turn: number, where: Matrix4): void {
  const head = turned([[-0.5 * radius, 0], [-0.5 * radius, 0.8 * radius], [-0.3 * radius, radius], [0, radius]], 20);
  solid.add(head, METAL.steel, where);
  const slot = new BoxGeometry(0.1, 1.7 * radius, 0.3 * radius);
  const placed = where.clone().multiply(new Matrix4().makeRotationX(turn)).multiply(moved(-0.5 * radius - 0.06, 0, 0));
  solid.add(slot, METAL.card, placed, false);
}

/** The balls of a bearing between two radii about x, and its races. */
export function addBalls(solid: Solid, x: number, inner: number, outer: number, where = new Matrix4()): void {
  const middle = (inner + outer) / 2;
  const radius = 0.42 * (outer - inner);
  const count = Math.min(11, Math.floor((Math.PI * middle) / (1.15 * radius)));
  for (let i = 0; i < count; i++) {
    const angle = (2 * Math.PI * i) / count;
    const ball = new OctahedronGeometry(radius, 1);
    // Smooth: a ball's normals point away from its centre.
    ball.setAttribute("normal", ball.getAttribute("position").clone());
    ball.normalizeNormals();
    solid.add(ball, METAL.steel, where.clone().multiply(moved(x, middle * Math.cos(angle), middle * Math.sin(angle))), false);
  }
  solid.add(turned(ring(x - radius, x + radius, inner - 0.5, inner), 24), METAL.steelDark, where);
  solid.add(turned(ring(x - radius, x + radius, outer, outer + 0.7), 24), METAL.steelDark, where);
}
