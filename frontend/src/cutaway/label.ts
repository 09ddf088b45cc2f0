// A label: what it says and what it points at.

import { type Object3D, Vector3 } from "three";

export interface Label {
  text: string;
  /** What it points at, in the world. */
  at: Vector3;
  colour: string;
  /** Beside the picture with a line to its part; else right at the point, so aligned. */
  stands: "beside" | "center" | "left" | "right";
  /** The side of the picture that is clear of other parts; else the nearer one. */
  side?: "left" | "right";
}

export const point = (of: Object3D, x: number, y: number, z: number): Vector3 => of.localToWorld(new Vector3(x, y, z));
