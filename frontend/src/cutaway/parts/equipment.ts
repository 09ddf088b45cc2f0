// The equipment ahead of the instrument along the air path: filter, regulator, pump, gauge.

import { BoxGeometry, type CanvasTexture, CircleGeometry, Group, Matrix4, Mesh } from "three";
import type { Finish } from "../shapes/finish.ts";
import { gaugeTexture, NEEDLE_SWEEP_DEG } from "./gaugeface.ts";
import { pin, ring, spur } from "../shapes/outlines.ts";
import { METAL, SCALE_END_INHG } from "../shapes/palette.ts";
import { ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { extruded, turned } from "../shapes/turned.ts";

export interface Equipment {
  group: Group;
  gauge: Group;
  needle: Group;
  shaft: Group;
  texture: CanvasTexture;
}

/** Faces the right wing, top up: the side from which the air path is viewed. */
const TO_RIGHT = new Matrix4().set(1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1);
/** Turns a body about x into one about y. */
const RIGHTWARD = new Matrix4().makeRotationZ(Math.PI / 2);

function makeFilter(finish: Finish): Group {
  return new Solid()
    .add(turned(pin(-104, -98, 20), 32), METAL.equipment, moved(128, 0, 0, ABOUT_Z))
    .add(extruded(spur(30, 16.4, 18.6), () => 0, -98, -70), METAL.paper, moved(128, 0, 0, ABOUT_Z))
    .add(turned(pin(-70, -64, 20), 32), METAL.equipment, moved(128, 0, 0, ABOUT_Z))
    .build("filter", finish.metal, finish.line);
}

function makeRegulator(finish: Finish): Group {
  return new Solid()
    .add(turned(pin(-32, -6, 11), 28), METAL.equipment, moved(148, 0, 0, ABOUT_Z))
    .add(extruded(spur(12, 6.4, 8), () => 0, -42, -32), METAL.paper, moved(148, 0, 0, ABOUT_Z))
    .add(new BoxGeometry(20, 20, 3), METAL.equipmentDark, moved(148, 0, -5))
    .build("regulator", finish.metal, finish.line);
}

function makePump(finish: Finish): Group {
  return new Solid()
    .add(turned(pin(222, 262, 21), 36), METAL.equipment, moved(0, 0, 34))
    .add(turned(ring(222, 226, 15, 24), 36), METAL.equipmentDark, moved(0, 0, 34))
    .add(turned(ring(258, 262, 15, 24), 36), METAL.equipmentDark, moved(0, 0, 34))
    .build("pump", finish.metal, finish.line);
}

/** Turns it to face along its own y axis. */
function makeGauge(finish: Finish): { group: Group; needle: Group; texture: CanvasTexture } {
  const texture = gaugeTexture();
  const paint = finish.plain("#ffffff");
  paint.map = texture;
  const group = new Solid()
    .add(turned(ring(2, 14, 22, 25), 40), METAL.bezel, RIGHTWARD)
    .add(turned(pin(-2, 11, 23), 40), METAL.bezel, RIGHTWARD)
    .build("suction-gauge", finish.metal, finish.line);
  const face = new Mesh(new CircleGeometry(22, 40), paint);
  face.name = "suction-gauge";
  face.applyMatrix4(moved(0, 11.4, 0, TO_RIGHT));
  const needle = new Group();
  needle.add(new Mesh(new BoxGeometry(1.6, 17, 0.6).translate(0, 6, 0), finish.plain(METAL.cardInk)));
  const mount = new Group();
  mount.applyMatrix4(moved(0, 12.2, 0, TO_RIGHT));
  mount.add(needle);
  group.add(face, mount);
  group.position.set(192, 0, -54);
  return { group, needle, texture };
}

/** Turns the gauge to the viewer's side, right (1) or left (-1). */
export function turnGauge(equipment: Equipment, side: number): void {
  equipment.gauge.rotation.z = side < 0 ? Math.PI : 0;
}

export function makeEquipment(finish: Finish): Equipment {
  const group = new Group();
  const shaft = new Solid()
    .add(turned(pin(-8, 8, 3.5), 16), METAL.steel)
    .add(extruded(spur(6, 6, 9), () => 0, -3, 3), METAL.steelDark)
    .build("pump", finish.metal, finish.line);
  const coupling = new Group();
  coupling.applyMatrix4(moved(242, 26, 34, RIGHTWARD));
  coupling.add(shaft);
  const gauge = makeGauge(finish);
  group.add(makeFilter(finish), makeRegulator(finish), makePump(finish), coupling, gauge.group);
  return { group, gauge: gauge.group, needle: gauge.needle, shaft, texture: gauge.texture };
}

/** The needle's angle for a reading, anticlockwise from the top. */
export function needleAngle(reading_inhg: number): number {
  const share = Math.min(Math.max(reading_inhg / SCALE_END_INHG, 0), 1.03);
  return ((0.5 - share) * NEEDLE_SWEEP_DEG * Math.PI) / 180;
}
