// Which part is seen first on the way from the eye to a point: labels lead only to parts that are seen.

import { type BufferGeometry, DoubleSide, type Material, Matrix4, type Mesh, type Object3D, Sphere, Vector3 } from "three";
import type { Part } from "../frame.ts";
import { Rays } from "../shapes/rays.ts";
import { isShown, partOf } from "./named.ts";

interface Obstacle {
  mesh: Mesh & { material: Material };
  part: Part;
  /** Made when the first ray comes near. */
  rays?: Rays;
}

const cornersOf = (geometry: BufferGeometry): Float32Array =>
  (geometry.index ? geometry.toNonIndexed() : geometry).getAttribute("position").array as Float32Array;

export class Sight {
  private readonly obstacles: Obstacle[] = [];

  constructor(body: Object3D) {
    body.traverse((one) => {
      const part = partOf(one);
      // Arrows are drawn through everything and hide nothing.
      if (!("isMesh" in one) || "isInstancedMesh" in one || part === null || part === "spin-axis") return;
      const mesh = one as Mesh & { material: Material };
      if (!mesh.material.transparent) {
        mesh.geometry.computeBoundingSphere();
        this.obstacles.push({ mesh, part });
      }
    });
  }

  /** The least and the greatest openness of each part's corners. */
  openness(): Partial<Record<Part, [least: number, greatest: number]>> {
    const found: Partial<Record<Part, [number, number]>> = {};
    for (const { mesh, part } of this.obstacles) {
      const material = mesh.geometry.getAttribute("material");
      for (let i = 0; material && i < material.count; i++) {
        const [least, greatest] = found[part] ?? [1, 0];
        found[part] = [Math.min(least, material.getZ(i)), Math.max(greatest, material.getZ(i))];
      }
    }
    return found;
  }

  /** The part that is met first from the eye through a point, in world coordinates. */
  first(eye: Vector3, through: Vector3): Part | null {
    const along = through.clone().sub(eye).normalize();
    const [near, toEye] = [new Vector3(), new Vector3()];
    const [back, sphere] = [new Matrix4(), new Sphere()];
    let [best, part] = [Infinity, null as Part | null];
    for (const one of this.obstacles) {
      const { mesh } = one;
      if (!isShown(mesh)) continue;
      sphere.copy(mesh.geometry.boundingSphere as Sphere).applyMatrix4(mesh.matrixWorld);
      const ahead = toEye.copy(sphere.center).sub(eye).dot(along);
      near.copy(eye).addScaledVector(along, ahead);
      if (near.distanceTo(sphere.center) > sphere.radius || ahead - sphere.radius > best) continue;
      back.copy(mesh.matrixWorld).invert();
      one.rays ??= new Rays(cornersOf(mesh.geometry), mesh.material.side === DoubleSide);
      const met = one.rays.nearest(eye.clone().applyMatrix4(back), along.clone().transformDirection(back), 1e-3, best);
      if (met < best) [best, part] = [met, one.part];
    }
    return part;
  }
}
