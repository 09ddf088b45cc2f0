// The air path from the cabin to the pump, as hoses with one pressure each.

import { CatmullRomCurve3, Mesh, TubeGeometry, Vector3 } from "three";
import type { Studio } from "../view/studio.ts";
import type { Finish } from "../shapes/finish.ts";
import { METAL } from "../shapes/palette.ts";

export type Stretch = "intake" | "filtered" | "inside" | "manifold" | "spill" | "sensed" | "exhaust";

type Point = readonly [number, number, number];

/** In the direction of flow, in the aircraft's axes. */
const WAYS: Record<Stretch, readonly Point[]> = {
  intake: [[128, 0, -122], [128, 0, -113], [128, 0, -104]],
  filtered: [[128, 0, -64], [127, 0, -57], [118, 0, -53], [92, 0, -53], [66, 0, -53]],
  inside: [[66, 0, -53], [30, 0, -53], [8, 0, -53.5], [0, 0, -51]],
  manifold: [[66, 0, 34], [100, 0, 34], [150, 0, 34], [190, 0, 34], [222, 0, 34]],
  spill: [[148, 0, -12], [148, 0, 2], [148, 0, 18], [148, 0, 34]],
  sensed: [[192, 0, 34], [192, 0, 6], [192, 0, -12], [192, 0, -30]],
  exhaust: [[262, 0, 34], [274, 0, 34], [290, 0, 34]],
};

export interface Hose {
  mesh: Mesh;
  paint: Studio;
  curve: CatmullRomCurve3;
}

export function makeHose(stretch: Stretch, finish: Finish): Hose {
  const curve = new CatmullRomCurve3(
    WAYS[stretch].map((point) => new Vector3(...point)),
    false,
    "chordal",
  );
  const paint = finish.paint(METAL.duct);
  const radius = stretch === "inside" ? 2.6 : stretch === "sensed" ? 2.4 : 4.2;
  const mesh = new Mesh(new TubeGeometry(curve, 36, radius, 14), paint);
  mesh.name = stretch === "inside" ? "jets" : "hose";
  return { mesh, paint, curve };
}

export const STRETCHES = Object.keys(WAYS) as Stretch[];
