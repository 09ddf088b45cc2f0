// The air path from the cabin to the pump, as hoses with one pressure each.

import { BoxGeometry, CatmullRomCurve3, type Group, Matrix4, Mesh, TubeGeometry, Vector3 } from "three";
import type { Studio } from "../view/studio.ts";
import type { Finish } from "../shapes/finish.ts";
import { ring } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { moved, Solid } from "../shapes/solid.ts";
import { turned } from "../shapes/turned.ts";

export type Stretch = "intake" | "filtered" | "inside" | "manifold" | "spill" | "sensed" | "exhaust";

type Point = readonly [number, number, number];

/** In the direction of flow, in the aircraft's axes. */
const WAYS: Record<Stretch, readonly Point[]> = {
  intake: [[128, 0, -122], [128, 0, -113], [128, 0, -104]],
  filtered: [[128, 0, -64], [127, 0, -57], [118, 0, -53], [92, 0, -53], [60, 0, -53]],
  inside: [[53, 0, -53], [30, 0, -53], [8, 0, -53.5], [0, 0, -51]],
  manifold: [[60, 0, 34], [100, 0, 34], [150, 0, 34], [190, 0, 34], [222, 0, 34]],
  spill: [[148, 0, -12], [148, 0, 2], [148, 0, 18], [148, 0, 34]],
  sensed: [[192, 0, 34], [192, 0, 6], [192, 0, -12], [192, 0, -30]],
  exhaust: [[262, 0, 34], [274, 0, 34], [290, 0, 34]],
};

export interface Hose {
  mesh: Mesh;
  paint: Studio;
  curve: CatmullRomCurve3;
}

const RUBBER = [0, 0.12] as const;
const radiusOf = (stretch: Stretch): number => (stretch === "inside" ? 2.6 : stretch === "sensed" ? 2.4 : 4.2);

export function makeHose(stretch: Stretch, finish: Finish): Hose {
  const curve = new CatmullRomCurve3(
    WAYS[stretch].map((point) => new Vector3(...point)),
    false,
    "chordal",
  );
  const paint = finish.paint(METAL.duct, RUBBER);
  const mesh = new Mesh(new TubeGeometry(curve, 30, radiusOf(stretch), 14), paint);
  mesh.name = stretch === "inside" ? "jets" : "hose";
  return { mesh, paint, curve };
}

/** Clamps where hoses end on a fitting, and the open mouths: cabin air in, air out. */
export function makeHoseEnds(finish: Finish, hoses: Record<Stretch, Hose>): Group {
  const solid = new Solid();
  const at = (stretch: Stretch, share: number): Matrix4 => {
    const { curve } = hoses[stretch];
    const along = curve.getTangentAt(share);
    const across = new Vector3(0, 1, 0);
    return new Matrix4().makeBasis(along, across, along.clone().cross(across)).setPosition(curve.getPointAt(share));
  };
  for (const stretch of ["filtered", "manifold", "spill", "sensed"] as const) {
    const radius = radiusOf(stretch);
    for (const share of [0.05, 0.95]) {
      const place = at(stretch, share);
      solid.add(turned(ring(-1.6, 1.6, radius - 0.2, radius + 0.8), 28), METAL.steel, place);
      solid.add(new BoxGeometry(3.6, 3, 2.4), METAL.steelDark, place.clone().multiply(moved(0, 0, radius + 1.4)));
    }
  }
  const mouth = turned([[-9, 10], [-8.4, 10.8], [-6, 7], [0, 5.2], [8, 5.2], [8, 4.2], [0, 4.2], [-6, 6], [-9, 10]], 40);
  solid.add(mouth, METAL.equipment, at("intake", 0.1));
  solid.add(turned([[-6, 4.2], [-6, 5.6], [6, 5.6], [6, 4.2], [-6, 4.2]], 32), METAL.equipment, at("exhaust", 0.9));
  return solid.build("hose", finish.metal, finish.line);
}

export const STRETCHES = Object.keys(WAYS) as Stretch[];
