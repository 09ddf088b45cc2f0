// A mitre gear: teeth on a cone of 45 degrees about the x axis, with its apex at the origin.

import { type BufferGeometry, Vector3 } from "three";
import { BEVEL } from "./sizes.ts";
import { at, Surface, turned } from "./turned.ts";

const STEP = (2 * Math.PI) / BEVEL.teeth;

/** The blank under the teeth: cone in front, flat behind, open in the middle. */
export function bevelBlank(segments: number): BufferGeometry {
  const under = BEVEL.height;
  const { inner, outer, hole } = BEVEL;
  return turned(
    [
      [inner + under, inner - under],
      [outer + under, outer - under],
      [outer + under + 2, outer - under],
      [outer + under + 2, hole],
      [inner + under, hole],
      [inner + under, inner - under],
    ],
    segments,
  );
}

/** Its teeth; `shift` in teeth: 0 puts one on angle zero, 0.5 a gap. */
export function bevelTeeth(shift: number): BufferGeometry {
  const surface = new Surface();
  const high = BEVEL.height / Math.SQRT2;
  const point = (along: number, height: number, angle: number): Vector3 => {
    const lift = (height * high * along) / BEVEL.outer;
    return at(along - lift, angle, along + lift);
  };
  for (let k = 0; k < BEVEL.teeth; k++) {
    const middle = (k + shift) * STEP;
    const foot = 0.33 * STEP;
    const top = 0.15 * STEP;
    const near = BEVEL.inner;
    const far = BEVEL.outer;
    const section = (along: number): Vector3[] => [
      point(along, -1.4, middle - foot),
      point(along, 1, middle - top),
      point(along, 1, middle + top),
      point(along, -1.4, middle + foot),
    ];
    const a = section(near);
    const b = section(far);
    const outward = at(-1, middle, 1).normalize();
    const sideways = at(0, middle + Math.PI / 2, 1);
    const face = (i: number, facing: Vector3): void =>
      surface.flat([a[i], b[i], b[i + 1], a[i + 1]] as Vector3[], facing);
    face(0, sideways.clone().negate().add(outward).normalize());
    face(1, outward);
    face(2, sideways.clone().add(outward).normalize());
    const lengthwise = at(1, middle, 1).normalize();
    surface.flat(b, lengthwise);
    surface.flat(a, lengthwise.clone().negate());
  }
  return surface.geometry();
}
