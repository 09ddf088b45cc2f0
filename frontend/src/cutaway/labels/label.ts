// A label: its text and the point it leads to.

import { type Object3D, Vector3 } from "three";

export interface Label {
  text: string;
  /** The point it leads to, in world coordinates. */
  at: Vector3;
  colour: string;
  /** "beside": at the side, with a line to its part; else at the point itself, aligned this way. */
  stands: "beside" | "center" | "left" | "right";
  /** The side of the picture clear of other parts; default: the nearer one. */
  side?: "left" | "right";
}

export const point = (of: Object3D, x: number, y: number, z: number): Vector3 => of.localToWorld(new Vector3(x, y, z));
