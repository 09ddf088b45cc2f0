// How open each corner of a body is to the light, worked out once with rays to what is near and baked into its
// material, so that every picture has it at no cost: feet of teeth and insides of rings are darker.
// Works beside the page (a worker): it takes a second or two of a processor.

import { Rays } from "./rays.ts";

export interface Body {
  /** Corners of its triangles. */
  corners: Float32Array;
  /** The corners whose openness is asked, with their normals. */
  places: Float32Array;
  normals: Float32Array;
}

const RAYS = 12;
/** What is further away takes no light. */
const REACH_MM = 13;
const LEAST_OPEN = 0.3;

/** Directions about z, more of them steep, as the light of a wide sky counts. */
const SKY = Array.from({ length: RAYS }, (_, i) => {
  const high = Math.sqrt(1 - (i + 0.5) / RAYS);
  const around = i * 2.399963;
  const flat = Math.sqrt(1 - high * high);
  return [flat * Math.cos(around), flat * Math.sin(around), high] as const;
});

type Triple = readonly [number, number, number];

const cross = (a: Triple, b: Triple): Triple => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

function openAt(rays: Rays, place: Triple, normal: Triple): number {
  const along = cross(Math.abs(normal[0]) > 0.8 ? [0, 1, 0] : [1, 0, 0], normal);
  const size = Math.hypot(...along);
  const side: Triple = [along[0] / size, along[1] / size, along[2] / size];
  const other = cross(normal, side);
  const turned = (a: number, b: number, c: number, axis: 0 | 1 | 2): number => a * side[axis] + b * other[axis] + c * normal[axis];
  const from = { x: place[0] + 0.12 * normal[0], y: place[1] + 0.12 * normal[1], z: place[2] + 0.12 * normal[2] };
  let light = 0;
  for (const [a, b, c] of SKY) {
    const to = { x: turned(a, b, c, 0), y: turned(a, b, c, 1), z: turned(a, b, c, 2) };
    light += Math.min(rays.nearest(from, to, 1e-3, REACH_MM) / REACH_MM, 1);
  }
  return LEAST_OPEN + (1 - LEAST_OPEN) * (light / RAYS);
}

/** The openness of each corner to the light by the body itself, LEAST_OPEN to 1. */
export function opennessOf({ corners, places, normals }: Body): Float32Array {
  const rays = new Rays(corners, false);
  const known = new Map<string, number>();
  const open = new Float32Array(places.length / 3);
  const triple = (of: Float32Array, i: number): Triple => [of[3 * i], of[3 * i + 1], of[3 * i + 2]] as unknown as Triple;
  for (let i = 0; i < open.length; i++) {
    const [place, normal] = [triple(places, i), triple(normals, i)];
    const key = [...place, ...normal].map((value) => Math.round(value * 64)).join();
    const value = known.get(key) ?? openAt(rays, place, normal);
    known.set(key, value);
    open[i] = value;
  }
  return open;
}
