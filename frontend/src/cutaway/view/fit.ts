// How far away the eye stands for the whole instrument to fill the picture, from whichever side it is seen: found
// from the projection of its outline, and so is how much of the picture that fills.

import { MathUtils, type PerspectiveCamera, Vector3 } from "three";
import { keptTo } from "../parts/case.ts";
import { CASE, KNOB } from "../shapes/sizes.ts";

/** How much of the picture's height and width the outline takes. */
const HIGH = 0.98;
const WIDE = 0.98;
const ROUNDS = 8;
const FLANGE_MM = CASE.half + 2;
const around = (count: number): number[] => Array.from({ length: count }, (_, i) => (2 * Math.PI * i) / count);

/** A square with rounded corners across the nose, cut off to the right. */
function square(x: number, half: number, rightTo: (z: number) => number): Vector3[] {
  const straight = half - CASE.corner;
  return around(24).map((angle) => {
    const [along, down] = [Math.cos(angle), Math.sin(angle)];
    const z = Math.sign(Math.round(down * 9)) * straight + CASE.corner * down;
    return new Vector3(x, Math.min(Math.sign(Math.round(along * 9)) * straight + CASE.corner * along, rightTo(z)), z);
  });
}

/** Corners of the instrument's outline in the aircraft's axes; `side` from -1, eye far on the left, to 1. */
export function outlinePoints(side: number): Vector3[] {
  const open = Math.min(Math.abs(side) * 3, 1);
  // The eye passes from one side to the other without a jump.
  const cut = (z: number): number => MathUtils.lerp(CASE.half, keptTo(z), open);
  const back = square(CASE.back, CASE.half, cut);
  if (side < 0) for (const one of back) one.y = -one.y;
  const knob = [-84, KNOB.travel - 60].flatMap((x) =>
    around(8).map((angle) => new Vector3(x, KNOB.across + 10.5 * Math.cos(angle), KNOB.down + 10.5 * Math.sin(angle))),
  );
  return [...square(-66, FLANGE_MM - 8, () => Infinity), ...square(-62.6, FLANGE_MM, () => Infinity), ...back, ...knob];
}

/** Points round the way of the air outside the instrument: the air's mouth and filter, gauge, pump, and the way out. */
export function airPoints(): Vector3[] {
  const circle = (radius: number, at: (a: number, b: number) => Vector3): Vector3[] =>
    around(12).map((angle) => at(radius * Math.cos(angle), radius * Math.sin(angle)));
  return [
    ...circle(10.8, (a, b) => new Vector3(128 + a, b, -129)),
    ...[-104, -64].flatMap((z) => circle(20, (a, b) => new Vector3(128 + a, b, z))),
    ...[-14, 14].flatMap((y) => circle(25, (a, b) => new Vector3(192 + a, y, -54 + b))),
    ...[222, 262].flatMap((x) => circle(24, (a, b) => new Vector3(x, a, 34 + b))),
    ...circle(5.6, (a, b) => new Vector3(293, a, 34 + b)),
  ];
}

export interface Place {
  target: Vector3;
  away: number;
}

/** Where to look, and from how far, so that all points just fit; `back` leads to the eye. */
export function fitted(points: readonly Vector3[], back: Vector3, up: Vector3, half: number, aspect: number, tall = HIGH): Place {
  const right = up.clone().cross(back).normalize();
  const above = back.clone().cross(right);
  const flat = Math.tan(half);
  const target = points.reduce((sum, one) => sum.add(one), new Vector3()).multiplyScalar(1 / points.length);
  let away = 300;
  for (let round = 0; round < ROUNDS; round++) {
    const [xs, ys]: [number[], number[]] = [[], []];
    for (const one of points) {
      const from = one.clone().sub(target);
      const size = flat * (away - from.dot(back));
      xs.push(from.dot(right) / (size * aspect));
      ys.push(from.dot(above) / size);
    }
    const [left, most, low, high] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    target.addScaledVector(right, ((left + most) / 2) * flat * aspect * away).addScaledVector(above, ((low + high) / 2) * flat * away);
    away *= Math.max((high - low) / 2 / tall, (most - left) / 2 / WIDE);
  }
  return { target, away };
}

export interface Filled {
  /** Shares of the picture's height, width and area. */
  high: number;
  wide: number;
  area: number;
}

const side = (a: Vector3, b: Vector3, c: Vector3): number => (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);

/** The outline of projected points: the lower or the upper half of what a string round them would be. */
function stringOf(points: readonly Vector3[]): Vector3[] {
  const kept: Vector3[] = [];
  for (const one of points) {
    while (kept.length > 1 && side(kept[kept.length - 2] as Vector3, kept[kept.length - 1] as Vector3, one) <= 0) kept.pop();
    kept.push(one);
  }
  return kept.slice(0, -1);
}

const clamped = (value: number): number => MathUtils.clamp(value, -1, 1);

/** What the points fill of the picture, without drawing it. */
export function filledBy(points: readonly Vector3[], camera: PerspectiveCamera): Filled {
  const seen = points.map((one) => one.clone().project(camera)).sort((a, b) => a.x - b.x || a.y - b.y);
  for (const one of seen) one.set(clamped(one.x), clamped(one.y), 0);
  const round = [...stringOf(seen), ...stringOf([...seen].reverse())];
  const twice = round.reduce((sum, a, i) => {
    const b = round[(i + 1) % round.length] as Vector3;
    return sum + a.x * b.y - b.x * a.y;
  }, 0);
  const span = (values: number[]): number => (Math.max(...values) - Math.min(...values)) / 2;
  return { high: span(seen.map(({ y }) => y)), wide: span(seen.map(({ x }) => x)), area: twice / 8 };
}
