// Measures a picture in the drawn geometry itself, not in the numbers it was drawn from.

import { type Mesh, type Object3D, Vector3 } from "three";
import type { Stage } from "./stage.ts";

type Triple = readonly [number, number, number];

export interface Measured {
  /** The reading of the drawn card under the lubber line. */
  card_deg: number;
  /** Spin axis north, east, down. */
  spin: Triple;
  /** Bucket where the jets meet it: its motion, and the jets' direction, in the aircraft's axes. */
  rim_motion: Triple;
  jet: Triple;
  torque: Triple;
  precession: Triple;
  /** The direction of the arrow "axis moves". */
  going: Triple;
  /** Outer gimbal's angle from the nose as drawn, and the card gear's about the nose. */
  gimbal_deg: number;
  gear_deg: number;
  triangles: number;
  calls: number;
  /** Number of geometries in graphics memory: constant from frame to frame. */
  geometries: number;
}

const DEG = 180 / Math.PI;
const plain = (one: Vector3): Triple => [one.x, one.y, one.z];

/** From the centres of the first and last dash of one jet; the rim's velocity is spin x position. */
function jetFacts(stage: Stage, spin: Vector3): Pick<Measured, "jet" | "rim_motion"> {
  const { body, nozzles, rotorTilt } = stage.model;
  const middle = (dash: Object3D): Vector3 => {
    const { geometry } = dash as Mesh;
    geometry.computeBoundingSphere();
    return body.worldToLocal(dash.localToWorld((geometry.boundingSphere?.center ?? new Vector3()).clone()));
  };
  const [first, , end] = nozzles.streams.children.map(middle) as [Vector3, Vector3, Vector3];
  const place = end.clone().sub(body.worldToLocal(rotorTilt.localToWorld(new Vector3())));
  return {
    jet: plain(end.clone().sub(first).normalize()),
    rim_motion: plain(spin.clone().cross(place).normalize()),
  };
}

export function measure(stage: Stage): Measured {
  const { model, renderer } = stage;
  const within = (frame: Object3D, of: Object3D, x: number, y: number, z: number): Vector3 => {
    const foot = of.localToWorld(new Vector3());
    const tip = of.localToWorld(new Vector3(x, y, z));
    return frame.worldToLocal(tip).sub(frame.worldToLocal(foot)).normalize();
  };
  const north = within(model.body, model.card.group, 0, 0, -1);
  const cross = within(model.body, model.outer, 1, 0, 0);
  const gear = within(model.body, model.cardGear, 0, 0, -1);
  const spin = within(model.body, model.rotorTilt, 1, 0, 0);
  return {
    card_deg: (((-Math.atan2(north.y, -north.z) * DEG) % 360) + 360) % 360,
    spin: plain(within(model.level, model.rotorTilt, 1, 0, 0)),
    ...jetFacts(stage, spin),
    torque: plain(within(model.level, model.arrows.torque.group, 1, 0, 0)),
    precession: plain(within(model.level, model.arrows.precession.group, 1, 0, 0)),
    going: plain(within(model.level, model.arrows.going.group, 1, 0, 0)),
    gimbal_deg: Math.atan2(cross.y, cross.x) * DEG,
    gear_deg: Math.atan2(gear.y, -gear.z) * DEG,
    triangles: renderer.info.render.triangles,
    calls: renderer.info.render.calls,
    geometries: renderer.info.memory.geometries,
  };
}
