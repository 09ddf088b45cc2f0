// The setting knob: its rod, the pinion that turns the card when pushed in, and the cone that cages.

import type { Group } from "three";
import type { Finish } from "../shapes/finish.ts";
import { pin, spur } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { KNOB } from "../shapes/sizes.ts";
import { Solid } from "../shapes/solid.ts";
import { extruded, turned } from "../shapes/turned.ts";

/** Its axis is the group's own x axis. */
export function makeKnob(finish: Finish): Group {
  const teeth = spur(KNOB.pinionTeeth, KNOB.pinionPitch - 1.2, KNOB.pinionPitch + 0.9);
  const group = new Solid()
    .add(extruded(spur(24, 9, 9.8), () => 0, -84, -73), METAL.knob)
    .add(turned([[-85.5, 0], [-85.5, 7.5], [-84, 8.6], [-84, 0]], 24), METAL.knob)
    .add(turned([[-86, 0], [-86, 1.6], [-85.4, 1.6]], 12), METAL.mark)
    .add(turned(pin(-73, -38, 2.2), 14), METAL.steel)
    .add(turned([[-38, 0], [-44, 0], [-44, 5], [-38, 2.2], [-38, 0]], 18), METAL.steelDark)
    .build("setting-knob", finish.metal, finish.line);
  const pinion = new Solid().add(extruded(teeth, () => 2, -59.7, -56.7), METAL.steel);
  return group.add(pinion.build("pinion", finish.metal, finish.line));
}
