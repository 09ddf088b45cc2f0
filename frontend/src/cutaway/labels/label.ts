// A label: its text and the point it leads to.

import { type Object3D, Vector3 } from "three";
import type { Part } from "../frame.ts";

export interface Label {
  text: string;
  /** What stands instead where there is no room for it. */
  short?: string;
  /** The part it names, when it names one. */
  part: Part | null;
  /** Points it may lead to, in world coordinates, the best first. */
  at: readonly Vector3[];
  colour: string;
  /**
   * "beside": in a column at the side, with a line to its part; "near": close to its part, with a short line;
   * "free": at the point itself, without a line.
   */
  stands: "beside" | "near" | "free";
  /** A line through the world that it does not cover: its own arrow. */
  clearOf?: readonly Vector3[];
}

export const point = (of: Object3D, x: number, y: number, z: number): Vector3 => of.localToWorld(new Vector3(x, y, z));
