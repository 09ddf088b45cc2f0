// Points on the surfaces of each part at which its label may end, the best first.

import type { Object3D, Vector3 } from "three";
import type { Part } from "../frame.ts";
import type { Model } from "../parts/model.ts";
import { CARD, CASE, GIMBAL, HOUSING, STOP } from "../shapes/sizes.ts";
import { point } from "./label.ts";

/** Points round an axis of a group, beginning at an angle; `along` is the place on the axis. */
function round(of: Object3D, axis: "x" | "y" | "z", along: number, radius: number, from_deg: number, count = 16): Vector3[] {
  return Array.from({ length: count }, (_, i) => {
    // Alternately to both sides of the first one.
    const turn = ((i + 1) >> 1) * (i % 2 ? 1 : -1);
    const angle = ((from_deg + (360 * turn) / count) * Math.PI) / 180;
    const [a, b] = [radius * Math.cos(angle), radius * Math.sin(angle)];
    if (axis === "x") return point(of, along, a, b);
    return axis === "y" ? point(of, a, along, b) : point(of, a, b, along);
  });
}

/** Where a line may end on a part; `side` is the side of the aircraft that the eye is on. */
export function placesOf(model: Model, part: Part, side: number): Vector3[] {
  const { outer, body, card, knob, air, equipment } = model;
  const face = card.group.position.x + CARD.x;
  const gear = model.gimbalGear.position.z;
  const cardGear = model.cardGear.position.x;
  const gauge = equipment.gauge;
  const wall = side * (CASE.half - 2.6);
  const places: Record<Part, () => Vector3[]> = {
    rotor: () => [1, -1].flatMap((end) => round(model.rotorTilt, "x", 7 * end, 21.6, 20)),
    buckets: () => [3, -3].flatMap((x) => round(model.rotorTilt, "x", x, 27, -60, 22)),
    "inner-gimbal": () => [
      ...round(model.housingTilt, "z", 0, HOUSING.outer, 40),
      ...[HOUSING.half, -HOUSING.half].flatMap((z) => round(model.housingTilt, "z", z, 32.8, 40)),
    ],
    "outer-gimbal": () => [
      ...[GIMBAL.half, -GIMBAL.half].flatMap((x) => round(outer, "x", x, 39, -50)),
      ...round(outer, "x", 0, GIMBAL.outer, -50),
    ],
    "bevel-gears": () => [...round(outer, "z", 41.5 + gear, 42.5, 60, 24), ...round(body, "x", -41.5 + cardGear, 42.5, 60, 24)],
    card: () => [34, 20].flatMap((radius) => round(body, "x", face - 0.2, radius, 110, 24)),
    "lubber-line": () => [point(model.front, -60.5, 0, -45), point(model.front, -60.5, 0, -4), point(model.front, -60.5, 0, 6)],
    "setting-knob": () => [...round(knob, "x", -78, 9.6, 0, 12), point(knob, -85.5, 0, 4), point(knob, -85.5, 4, 0)],
    pinion: () => round(knob, "x", -58.2, 12, -45, 16),
    caging: () => [
      point(model.fork, 0, STOP.y + 2.6, -30),
      ...[-1.1, 1.1].map((x) => point(model.fork, x, STOP.y + 1.8, -30)),
      ...[-45.4, -47].flatMap((z) => round(model.link, "z", z, 34.2, 50)),
    ],
    stops: () => [-8.6, 8.6].flatMap((x) => [point(model.gimbal.stops, x, STOP.y + 1.6, -1.9), point(model.gimbal.stops, x * 0.6, 42.4, -1.9)]),
    bearings: () => [
      ...[28, -28].flatMap((x) => [0.9, -0.9].flatMap((end) => round(model.housingTilt, "x", x + end, 4.6, 40, 8))),
      ...[43.2, -43.2].flatMap((y) => round(outer, "y", y + Math.sign(y) * 0.9, 4.4, 40, 8)),
      ...round(body, "z", -51, 6.4, 60, 8),
    ],
    jets: () => [
      ...[2.8, -2.8].flatMap((z) => [point(model.nozzles.group, 0, -24, -22 + z), point(model.nozzles.group, 4, -24, -22 + z)]),
      ...[6, -6].map((x) => point(model.nozzles.group, x, -24, -22)),
      ...[-20, -30, -40].flatMap((turn) => round(model.nozzles.group, "x", 2.5, 44.2, -90 + turn, 1)),
      ...[-20, -30, -40].flatMap((turn) => round(model.nozzles.group, "x", -2.5, 44.2, -90 + turn, 1)),
    ],
    case: () => [
      ...[44, 20, -30].flatMap((x) => [-30, 0, 30].map((z) => point(model.case.group, x, -wall, z))),
      ...[50, 20, -40].map((x) => point(model.case.group, x, side * 12, CASE.half - 2.6)),
      ...[CASE.half, -CASE.half].flatMap((y) => [40, 0, -40].map((x) => point(model.case.group, x, y, 20))),
      ...[-20, 20].map((y) => point(model.case.group, CASE.back, y, 10)),
      ...[-30, 20].map((x) => point(model.case.group, x, -side * 20, -CASE.half)),
      point(model.front, -62.6, 50, 0),
      point(model.front, -62.6, 0, 55),
    ],
    filter: () => [-101, -67].flatMap((z) => round(air, "z", z, 20, 30).map((one) => one.add(point(air, 128, 0, 0).sub(point(air, 0, 0, 0))))),
    regulator: () => [-20, -12].flatMap((z) => round(air, "z", z, 11, 30).map((one) => one.add(point(air, 148, 0, 0).sub(point(air, 0, 0, 0))))),
    pump: () => [240, 232, 250].flatMap((x) => round(air, "x", x, 21, 60).map((one) => one.add(point(air, 0, 0, 34).sub(point(air, 0, 0, 0))))),
    "suction-gauge": () => [...round(gauge, "y", 14, 23.5, -30), ...round(gauge, "y", 8, 25, -30)],
    hose: () => along(model, "manifold", [0.3, 0.5, 0.7]),
    "spin-axis": () => [point(model.arrows.spin, 97, 0, 0)],
  };
  return places[part]();
}

/** Points on a hose's skin at shares of its length. */
export function along(model: Model, stretch: keyof Model["hoses"], shares: readonly number[]): Vector3[] {
  const { curve, mesh } = model.hoses[stretch];
  const radius = stretch === "sensed" ? 2.4 : 4.2;
  return shares.flatMap((share) => {
    const { x, y, z } = curve.getPointAt(share);
    const upright = Math.abs(curve.getTangentAt(share).z) > 0.7;
    const up = upright ? ([radius, 0] as const) : ([0, -radius] as const);
    return [[0, radius, 0], [0, -radius, 0], [up[0], 0, up[1]], [-up[0], 0, -up[1]]].map(([dx, dy, dz]) =>
      point(mesh, x + (dx as number), y + (dy as number), z + (dz as number)),
    );
  });
}
