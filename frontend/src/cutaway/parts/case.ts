// The case: a box with its far walls only, fittings for the air, and the two bearings of the gimbal.

import { EdgesGeometry, Group, LineSegments, Mesh } from "three";
import type { Studio } from "../view/studio.ts";
import type { Finish } from "../shapes/finish.ts";
import { pin, ring, roundedSquare, sampled } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { CASE } from "../shapes/sizes.ts";
import { ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { extruded, turned } from "../shapes/turned.ts";

export interface Case {
  shell: Group;
  /** Its colour follows the pressure inside while the air is shown. */
  shellPaint: Studio;
  bearings: Group;
}

export function makeCase(finish: Finish, segments: number): Case {
  const outline = sampled(roundedSquare(CASE.half, CASE.corner), 4 * segments);
  const walls = extruded(outline, () => 0, CASE.front, CASE.back, "back");
  const shell = new Group();
  const mesh = new Mesh(walls, finish.shell);
  mesh.name = "case";
  // After the mechanism, which hides most of it.
  mesh.renderOrder = 1;
  const lines = new LineSegments(new EdgesGeometry(walls, 40), finish.shellLine);
  lines.raycast = () => undefined;
  shell.add(mesh, lines);
  const fittings = new Solid()
    .add(turned(ring(54, 66, 3.4, 6), 20), METAL.steelDark, moved(0, 0, -53))
    .add(turned(ring(54, 66, 3.4, 6), 20), METAL.steelDark, moved(0, 0, 34));
  shell.add(fittings.build("case", finish.metal, finish.line));
  const bearings = new Solid()
    .add(turned(ring(-56, -46.5, 2.7, 5.5), 20), METAL.steelDark, ABOUT_Z)
    .add(turned(pin(51, 58, 6), 20), METAL.steelDark, ABOUT_Z)
    .build("bearings", finish.metal, finish.line);
  return { shell, shellPaint: finish.shell, bearings };
}
