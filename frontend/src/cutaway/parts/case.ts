// The case: a box with thick walls, cut open along a plane on the viewer's side, with the fittings in its back where
// the hoses end, and the two bearings of the outer gimbal.

import { type BufferGeometry, Group, Vector3 } from "three";
import type { Studio } from "../view/studio.ts";
import type { Finish } from "../shapes/finish.ts";
import { pin, ring, roundedSquare } from "../shapes/outlines.ts";
import { METAL } from "../shapes/palette.ts";
import { CASE } from "../shapes/sizes.ts";
import { ABOUT_Z, moved, Solid } from "../shapes/solid.ts";
import { Surface, turned } from "../shapes/turned.ts";
import { addBalls } from "./fasteners.ts";

/** A half that is open to the right (1) or to the left (-1). */
type Side = 1 | -1;

export interface Case {
  /** All of it; moves back when taken apart. */
  group: Group;
  /** What is hidden with the case: the back stays, because the hoses end in it. */
  walls: Record<Side, Group>;
  backs: Record<Side, Group>;
  /** The inside's colour follows the pressure while the air is shown. */
  insidePaint: Studio;
  bearings: Group;
}

const WALL_MM = 2.6;
const STEPS = 96;
/** Of the back's inside, as shares of the way to its edge. */
const RINGS = [0.4, 0.7, 0.88, 1] as const;
const BACK_INSIDE = CASE.back - WALL_MM;

/** How far to the open side the wall is kept at a height: the plane leans out, so that the floor is wider. */
export const keptTo = (z: number): number => 10 + 0.24 * (z + CASE.half);

/** The kept part of a rounded square, from the cut at the floor round to the cut at the top. */
function kept(half: number, corner: number, side: Side): { points: Vector3[]; outward: Vector3[] } {
  const radius = roundedSquare(half, corner);
  const on = (angle: number): Vector3 => new Vector3(0, radius(angle) * Math.sin(angle), -radius(angle) * Math.cos(angle));
  const cut = (low: number, high: number): number => {
    let [inside, outside] = [low, high];
    for (let i = 0; i < 40; i++) {
      const middle = (inside + outside) / 2;
      const { y, z } = on(middle);
      if (y < keptTo(z)) inside = middle;
      else outside = middle;
    }
    return inside;
  };
  const top = cut(0, Math.PI / 2);
  const floor = cut(Math.PI, Math.PI / 2);
  const points = Array.from({ length: STEPS + 1 }, (_, i) => on(floor + ((2 * Math.PI + top - floor) * i) / STEPS));
  const straight = half - corner;
  const outward = points.map(({ y, z }) => {
    const clamped = (value: number): number => Math.min(Math.max(value, -straight), straight);
    return new Vector3(0, y - clamped(y), z - clamped(z)).normalize();
  });
  for (const one of [...points, ...outward]) one.y *= side;
  return { points, outward };
}

const shifted = (point: Vector3, x: number): Vector3 => new Vector3(x, point.y, point.z);

interface Shell {
  outside: BufferGeometry;
  inside: BufferGeometry;
  section: BufferGeometry;
  back: BufferGeometry;
  backInside: BufferGeometry;
  backSection: BufferGeometry;
}

function shellOf(side: Side): Shell {
  const outer = kept(CASE.half, CASE.corner, side);
  const inner = kept(CASE.half - WALL_MM, CASE.corner - WALL_MM, side);
  const [outside, inside, section] = [new Surface(), new Surface(), new Surface()];
  const [back, backInside, backSection] = [new Surface(), new Surface(), new Surface()];
  const middle = new Vector3(0, -12 * side, 0);
  const [pilot, ahead] = [new Vector3(-1, 0, 0), new Vector3(1, 0, 0)];
  for (let i = 0; i < STEPS; i++) {
    const [a, b] = [outer.points[i], outer.points[i + 1]] as [Vector3, Vector3];
    const [na, nb] = [outer.outward[i], outer.outward[i + 1]] as [Vector3, Vector3];
    outside.quad(
      [shifted(a, CASE.front), shifted(a, CASE.back), shifted(b, CASE.back), shifted(b, CASE.front)],
      [na, na, nb, nb],
    );
    const [c, d] = [inner.points[i], inner.points[i + 1]] as [Vector3, Vector3];
    const [nc, nd] = [inner.outward[i], inner.outward[i + 1]].map((one) => (one as Vector3).clone().negate()) as [Vector3, Vector3];
    inside.quad(
      [shifted(c, CASE.front), shifted(c, BACK_INSIDE), shifted(d, BACK_INSIDE), shifted(d, CASE.front)],
      [nc, nc, nd, nd],
    );
    section.flat([a, b, d, c].map((one) => shifted(one, CASE.front)), pilot);
    back.triangle([a, b, middle].map((one) => shifted(one, CASE.back)), [ahead, ahead, ahead]);
  }
  const [from, to] = [outer.points[0], outer.points[STEPS]] as [Vector3, Vector3];
  const facing = new Vector3(0, side, -0.24).normalize();
  for (const i of [0, STEPS]) {
    const [a, c] = [outer.points[i], inner.points[i]] as [Vector3, Vector3];
    section.flat([shifted(a, CASE.front), shifted(a, CASE.back), shifted(c, CASE.back), shifted(c, CASE.front)], facing);
  }
  back.triangle([from, to, middle].map((one) => shifted(one, CASE.back)), [ahead, ahead, ahead]);
  // In rings, for the light: it changes most near the edge. Along the cut as well, so that no line is left where they end.
  inner.points.forEach((c, i) => {
    const d = inner.points[(i + 1) % inner.points.length] as Vector3;
    const [at, next] = [c, d].map((one) => RINGS.map((share) => shifted(middle.clone().lerp(one, share), BACK_INSIDE))) as [Vector3[], Vector3[]];
    for (let k = 0; k + 1 < RINGS.length; k++) {
      backInside.flat([at[k], at[k + 1], next[k + 1], next[k]] as Vector3[], pilot);
    }
    backInside.triangle([at[0], next[0], shifted(middle, BACK_INSIDE)] as Vector3[], [pilot, pilot, pilot]);
  });
  backSection.flat([shifted(from, BACK_INSIDE), shifted(from, CASE.back), shifted(to, CASE.back), shifted(to, BACK_INSIDE)], facing);
  return {
    outside: outside.geometry(),
    inside: inside.geometry(),
    section: section.geometry(),
    back: back.geometry(),
    backInside: backInside.geometry(),
    backSection: backSection.geometry(),
  };
}

export function makeCase(finish: Finish): Case {
  const group = new Group();
  const walls = {} as Case["walls"];
  const backs = {} as Case["backs"];
  const built = (name: "case", piece: BufferGeometry, colour: string): Group =>
    new Solid().add(piece, colour).build(name, colour === METAL.shell ? finish.shell : finish.metal, finish.line);
  for (const side of [1, -1] as const) {
    const shell = shellOf(side);
    const wall = new Solid().add(shell.outside, METAL.bezel).add(shell.section, METAL.section);
    walls[side] = new Group().add(wall.build("case", finish.metal, finish.line), built("case", shell.inside, METAL.shell));
    const back = new Solid().add(shell.back, METAL.bezel).add(shell.backSection, METAL.section);
    backs[side] = new Group().add(back.build("case", finish.metal, finish.line), built("case", shell.backInside, METAL.shell));
    group.add(walls[side], backs[side]);
  }
  const fittings = new Solid();
  for (const z of [-53, 34]) {
    fittings.add(turned(ring(51, 62, 3.4, 5.4), 24), METAL.brass, moved(0, 0, z));
    fittings.add(turned(ring(CASE.back, 61.5, 5.4, 7.6), 6), METAL.brass, moved(0, 0, z));
    fittings.add(turned(pin(52, 60, 3.4), 16), METAL.card, moved(0, 0, z), false);
  }
  group.add(fittings.build("case", finish.metal, finish.line));
  const bearings = new Solid()
    .add(turned(ring(-56, -46.5, 4.4, 6.4), 32), METAL.steelDark, ABOUT_Z)
    .add(turned(pin(53, 56, 7.4), 32), METAL.steelDark, ABOUT_Z);
  addBalls(bearings, -47, 2.8, 4.4, ABOUT_Z);
  addBalls(bearings, 52.4, 2.8, 6.2, ABOUT_Z);
  return { group, walls, backs, insidePaint: finish.shell, bearings: bearings.build("bearings", finish.metal, finish.line) };
}

/** Opens the case to the side that the eye is on, and hides its walls where they are not wanted. */
export function openTo({ walls, backs }: Case, eye_y: number, hidden: boolean): void {
  for (const side of [1, -1] as const) {
    backs[side].visible = eye_y < 0 === side < 0;
    walls[side].visible = backs[side].visible && !hidden;
  }
}
