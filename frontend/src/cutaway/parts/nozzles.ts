// The jets: a duct from the gimbal's hollow upper bearing along its ring to two nozzles side by side,
// which blow at the rim's buckets in the sense of rotation. They turn with the outer gimbal.

import { BoxGeometry, CatmullRomCurve3, Group, Matrix4, Mesh, type MeshBasicMaterial, TubeGeometry, Vector3 } from "three";
import type { Studio } from "../view/studio.ts";
import type { Finish } from "../shapes/finish.ts";
import { METAL } from "../shapes/palette.ts";
import { JET, ROTOR } from "../shapes/sizes.ts";
import { Solid } from "../shapes/solid.ts";
import { at, turned } from "../shapes/turned.ts";

const HIT = (JET.at_deg * Math.PI) / 180;
/** The rim's motion where the jets meet it, and so the jets' own direction. */
const ALONG = at(0, HIT + Math.PI / 2, 1);

/** A point on the jets' line, this many millimetres before the buckets. */
function before(distance: number, x = 0): Vector3 {
  return at(x, HIT, ROTOR.radius - 1).addScaledVector(ALONG, -distance);
}

/** Turns a body about x to a direction in the plane across x. */
function laid(along: Vector3, where: Vector3): Matrix4 {
  const third = new Vector3(1, 0, 0);
  return new Matrix4().makeBasis(along, third, along.clone().cross(third)).setPosition(where);
}

export interface Nozzles {
  group: Group;
  duct: Studio;
  /** The air that leaves the nozzles, shown while they blow. */
  streams: Group;
  stream: MeshBasicMaterial;
}

export function makeNozzles(finish: Finish): Nozzles {
  const group = new Group();
  const duct = finish.paint(METAL.duct);
  const bend = [0, -14, -30, -46].map((degrees) => at(0, (degrees * Math.PI) / 180, degrees ? 44.2 : 45));
  const path = new CatmullRomCurve3([...bend, at(0, (-57 * Math.PI) / 180, 41), before(JET.back + 2)]);
  const tube = new Mesh(new TubeGeometry(path, 28, 2.6, 10), duct);
  tube.name = "jets";
  const tips = new Solid().add(
    new BoxGeometry(4, 12, 5.6),
    METAL.nozzle,
    laid(ALONG, before(JET.back)),
  );
  const streams = new Group();
  streams.name = "jets";
  const stream = finish.plain("#ffffff");
  for (const x of [-JET.apart, JET.apart]) {
    const length = JET.back - JET.from;
    const nozzle = turned([[0, 0], [0, 2.8], [length, 1.4], [length, 0]], 14);
    tips.add(nozzle, METAL.nozzle, laid(ALONG, before(JET.back, x)));
    for (const [from, to] of [[0, 1.6], [2.4, 4], [4.8, 6.4]] as const) {
      const dash = turned([[from, 0], [from, 1.5], [to, 1], [to, 0]], 10);
      streams.add(new Mesh(dash.applyMatrix4(laid(ALONG, before(JET.from - 0.4, x))), stream));
    }
  }
  group.add(tube, tips.build("jets", finish.metal, finish.line), streams);
  return { group, duct, streams, stream };
}
