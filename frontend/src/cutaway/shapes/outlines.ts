// Outlines about an axis: circles, gear teeth, the rotor's buckets, a square with round corners.

import type { Outline, Profile } from "./turned.ts";

const FULL = 2 * Math.PI;

/** Straight-sided gear teeth, one centred on angle zero. */
export function spur(teeth: number, root: number, tip: number): Outline {
  const step = FULL / teeth;
  return Array.from({ length: teeth }, (_, k) => k * step).flatMap((middle) => [
    [middle - 0.34 * step, root] as const,
    [middle - 0.16 * step, tip] as const,
    [middle + 0.16 * step, tip] as const,
    [middle + 0.34 * step, root] as const,
  ]);
}

/**
 * Buckets of a rotor that turns towards growing angles: the steep face points back, towards the jet that
 * comes from behind, and a hollow leads down to the foot of the next one.
 */
export function buckets(count: number, root: number, tip: number): Outline {
  const step = FULL / count;
  return Array.from({ length: count }, (_, k) => k * step).flatMap((start) => [
    [start, root] as const,
    [start + 0.03 * step, tip] as const,
    [start + 0.28 * step, tip] as const,
    [start + 0.5 * step, root + 0.35 * (tip - root)] as const,
    [start + 0.8 * step, root] as const,
  ]);
}

/** A square of the given half side with round corners; also good as a hole. */
export function roundedSquare(half: number, corner: number): (angle: number) => number {
  const straight = half - corner;
  return (angle) => {
    const c = Math.abs(Math.cos(angle));
    const s = Math.abs(Math.sin(angle));
    const flat = half / Math.max(c, s);
    if (flat * Math.min(c, s) <= straight) return flat;
    const along = straight * (c + s);
    return along + Math.sqrt(along * along - 2 * straight * straight + corner * corner);
  };
}

export function sampled(radius: (angle: number) => number, segments: number): Outline {
  return Array.from({ length: segments }, (_, k) => {
    const angle = (FULL * k) / segments;
    return [angle, radius(angle)] as const;
  });
}

/** Closed profile of a flat ring. */
export function ring(x0: number, x1: number, inner: number, outer: number): Profile {
  return [
    [x0, outer],
    [x1, outer],
    [x1, inner],
    [x0, inner],
    [x0, outer],
  ];
}

/** Profile of a solid pin. */
export function pin(x0: number, x1: number, radius: number): Profile {
  return [
    [x0, 0],
    [x0, radius],
    [x1, radius],
    [x1, 0],
  ];
}
