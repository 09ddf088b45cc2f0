// Works out how open each corner of the model is to the light: the mean of many rays, over the ways in which its
// bodies stand to one another. Runs once, while the pages are built.

import { type BufferGeometry, type Mesh, Vector3 } from "three";
import { openTo } from "../src/cutaway/parts/case.ts";
import { buildModel, type Model } from "../src/cutaway/parts/model.ts";
import { isShown } from "../src/cutaway/parts/named.ts";
import { LEAST_OPEN, litOf, written } from "../src/cutaway/parts/openness.ts";
import { Rays } from "../src/cutaway/shapes/rays.ts";
import { KNOB } from "../src/cutaway/shapes/sizes.ts";

/** Gimbals, rotor and card turn against one another: each corner gets the mean of these poses. */
const POSES = 12;
const RAYS_IN_EACH = 4;
/** What is further away takes no light. */
const REACH_MM = 13;
const CELLS = 80;
const GOLDEN = 2.399963;

/** Directions about z, more of them steep, as the light of a wide sky counts. */
const SKY = Array.from({ length: POSES * RAYS_IN_EACH }, (_, i) => {
  const high = Math.sqrt(1 - (i + 0.5) / (POSES * RAYS_IN_EACH));
  const flat = Math.sqrt(1 - high * high);
  return new Vector3(flat * Math.cos(i * GOLDEN), flat * Math.sin(i * GOLDEN), high);
});

/** The assembled instrument, cut open to one side, with its gimbals, rotor and card turned. */
function stand(model: Model, number: number): void {
  const turn = (2 * Math.PI * number) / POSES;
  model.outer.rotation.z = model.cardGear.rotation.x = turn;
  model.card.group.rotation.x = 5 * turn;
  model.rotor.group.rotation.x = 1.618 * number;
  model.knob.position.set(0, KNOB.across, KNOB.down);
  model.knob.rotation.x = 7 * turn;
  model.rotor.fast.visible = number % 4 > 1;
  model.rotor.slow.visible = !model.rotor.fast.visible;
  openTo(model.case, number % 2 ? 1 : -1, false);
  model.scene.updateMatrixWorld();
}

const loose = (geometry: BufferGeometry): BufferGeometry => (geometry.index ? geometry.toNonIndexed() : geometry);

/** All that takes light from something at the moment, as corners in world coordinates. */
function obstaclesOf(lit: readonly Mesh[]): Rays {
  const corners: number[] = [];
  const at = new Vector3();
  for (const mesh of lit) {
    if (!isShown(mesh)) continue;
    const places = loose(mesh.geometry).getAttribute("position");
    for (let i = 0; i < places.count; i++) corners.push(...at.fromBufferAttribute(places, i).applyMatrix4(mesh.matrixWorld).toArray());
  }
  return new Rays(corners, false, CELLS);
}

/** The light at a place, 0 to 1, by some of the sky's directions. */
function lightAt(rays: Rays, place: Vector3, normal: Vector3, first: number): number {
  const side = new Vector3(...(Math.abs(normal.x) > 0.8 ? ([0, 1, 0] as const) : ([1, 0, 0] as const))).cross(normal).normalize();
  const other = normal.clone().cross(side);
  const from = place.clone().addScaledVector(normal, 0.12);
  let light = 0;
  for (let i = first; i < SKY.length; i += POSES) {
    const { x, y, z } = SKY[i] as Vector3;
    const to = side.clone().multiplyScalar(x).addScaledVector(other, y).addScaledVector(normal, z);
    light += Math.min(rays.nearest(from, to, 1e-3, REACH_MM) / REACH_MM, 1);
  }
  return light / RAYS_IN_EACH;
}

/** The corners of a mesh: for each the number of the first one that is at the same place and faces the same way. */
function alike({ geometry }: Mesh): Int32Array {
  const [places, normals] = [geometry.getAttribute("position"), geometry.getAttribute("normal")];
  const known = new Map<string, number>();
  return Int32Array.from({ length: places.count }, (_, i) => {
    const key = [places, normals].flatMap((of) => [of.getX(i), of.getY(i), of.getZ(i)].map((value) => Math.round(value * 64))).join();
    const first = known.get(key) ?? i;
    known.set(key, first);
    return first;
  });
}

/** One letter for each corner of what the light falls on. */
export function bake(): string {
  const model = buildModel();
  model.nozzles.streams.visible = false;
  const lit = litOf(model.body);
  const same = lit.map(alike);
  const light = same.map(({ length }) => new Float64Array(length));
  const times = lit.map(() => 0);
  const [place, normal] = [new Vector3(), new Vector3()];
  for (let number = 0; number < POSES; number++) {
    stand(model, number);
    const rays = obstaclesOf(lit);
    lit.forEach((mesh, body) => {
      if (!isShown(mesh)) return;
      times[body] = (times[body] as number) + 1;
      const [places, normals] = [mesh.geometry.getAttribute("position"), mesh.geometry.getAttribute("normal")];
      const sum = light[body] as Float64Array;
      (same[body] as Int32Array).forEach((first, i) => {
        if (first !== i) return;
        place.fromBufferAttribute(places, i).applyMatrix4(mesh.matrixWorld);
        normal.fromBufferAttribute(normals, i).transformDirection(mesh.matrixWorld);
        sum[i] = (sum[i] as number) + lightAt(rays, place, normal, number);
      });
    });
  }
  return lit
    .map((_, body) => {
      const [sum, passes] = [light[body] as Float64Array, Math.max(times[body] as number, 1)];
      return written(Array.from(same[body] as Int32Array, (first) => LEAST_OPEN + ((1 - LEAST_OPEN) * (sum[first] as number)) / passes));
    })
    .join("");
}
