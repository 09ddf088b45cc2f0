// Solids made by revolving or extruding an outline along the x axis, with sharp and smooth edges.

import { BufferGeometry, Float32BufferAttribute, Vector3 } from "three";

/** Position along the axis and radius. */
export type Profile = readonly (readonly [x: number, radius: number])[];
/** Angle (radians from the top, clockwise seen along +x) and radius. */
export type Outline = readonly (readonly [angle: number, radius: number])[];

const ROUND_COS = Math.cos((35 * Math.PI) / 180);

export function at(x: number, angle: number, radius: number): Vector3 {
  return new Vector3(x, radius * Math.sin(angle), -radius * Math.cos(angle));
}

/** Collects triangles with a normal for each corner. */
export class Surface {
  private readonly places: number[] = [];
  private readonly normals: number[] = [];

  triangle(corners: readonly Vector3[], normals: readonly Vector3[]): void {
    const [a, b, c] = corners as [Vector3, Vector3, Vector3];
    const facing = b.clone().sub(a).cross(c.clone().sub(a));
    const order = facing.dot(normals[0] as Vector3) >= 0 ? [0, 1, 2] : [0, 2, 1];
    for (const i of order) {
      (corners[i] as Vector3).toArray(this.places, this.places.length);
      (normals[i] as Vector3).toArray(this.normals, this.normals.length);
    }
  }

  quad(corners: readonly Vector3[], normals: readonly Vector3[]): void {
    const pick = (i: number, j: number, k: number): void =>
      this.triangle(
        [corners[i], corners[j], corners[k]] as Vector3[],
        [normals[i], normals[j], normals[k]] as Vector3[],
      );
    pick(0, 1, 2);
    pick(0, 2, 3);
  }

  flat(corners: readonly Vector3[], outward: Vector3): void {
    this.quad(corners, corners.map(() => outward));
  }

  geometry(): BufferGeometry {
    const made = new BufferGeometry();
    made.setAttribute("position", new Float32BufferAttribute(this.places, 3));
    made.setAttribute("normal", new Float32BufferAttribute(this.normals, 3));
    return made;
  }
}

/** A body of revolution; the profile runs with the outside on its left (outer surfaces toward +x). */
export function turned(profile: Profile, segments: number, from = 0, sweep = 2 * Math.PI): BufferGeometry {
  const surface = new Surface();
  for (let i = 0; i + 1 < profile.length; i++) {
    const [x0, r0] = profile[i] as [number, number];
    const [x1, r1] = profile[i + 1] as [number, number];
    for (let k = 0; k < segments; k++) {
      const a = from + (sweep * k) / segments;
      const b = from + (sweep * (k + 1)) / segments;
      const normal = (angle: number): Vector3 => at(r0 - r1, angle, x1 - x0).normalize();
      const corners = [at(x0, a, r0), at(x1, a, r1), at(x1, b, r1), at(x0, b, r0)];
      surface.quad(corners, [normal(a), normal(a), normal(b), normal(b)]);
    }
  }
  return surface.geometry();
}

/** Which ends of an extruded body are closed. */
export type Ends = "both" | "back" | "none";

/** An outline about the x axis, extruded from x0 to x1, with a hole of the given radius at each angle. */
export function extruded(
  outline: Outline,
  hole: (angle: number) => number,
  x0: number,
  x1: number,
  ends: Ends = "both",
): BufferGeometry {
  const surface = new Surface();
  const count = outline.length;
  const point = (i: number): readonly [number, number] => outline[(i + count) % count] as [number, number];
  const side = (i: number): Vector3 => {
    const along = at(0, ...point(i + 1)).sub(at(0, ...point(i)));
    return new Vector3(0, along.z, -along.y).normalize();
  };
  for (let i = 0; i < count; i++) {
    const [a, ra] = point(i);
    const [b, rb] = point(i + 1);
    const here = side(i);
    const blend = (other: Vector3): Vector3 =>
      other.dot(here) > ROUND_COS ? other.clone().add(here).normalize() : here;
    const start = blend(side(i - 1));
    const end = blend(side(i + 1));
    surface.quad([at(x0, a, ra), at(x1, a, ra), at(x1, b, rb), at(x0, b, rb)], [start, start, end, end]);
    const ia = hole(a);
    const ib = hole(b);
    if (ends !== "none") {
      const cap = (x: number, facing: number): void =>
        surface.flat([at(x, a, ia), at(x, a, ra), at(x, b, rb), at(x, b, ib)], new Vector3(facing, 0, 0));
      cap(x1, 1);
      if (ends === "both") cap(x0, -1);
    }
    if (ia > 0 && ends === "both") {
      const inward = (angle: number): Vector3 => at(0, angle, -1);
      const corners = [at(x0, a, ia), at(x1, a, ia), at(x1, b, ib), at(x0, b, ib)];
      surface.quad(corners, [inward(a), inward(a), inward(b), inward(b)]);
    }
  }
  return surface.geometry();
}
