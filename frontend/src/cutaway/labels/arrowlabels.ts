// Labels of the arrows, with their sizes.

import type { Object3D, Vector3 } from "three";
import { LEAST_TORQUE_NM, lengthOf, torqueInGimbal } from "../arrows.ts";
import { type BenchFrame, type GyroFrame, PARTS } from "../frame.ts";
import { type Label, point } from "./label.ts";
import type { Model } from "../parts/model.ts";
import type { Scheme } from "../shapes/palette.ts";

const torqueWords = (torque_nm: number): string =>
  torque_nm >= 1e-4 ? `${(torque_nm * 1000).toFixed(1)} mN m` : `${(torque_nm * 1e6).toFixed(1)} µN m`;

function rateWords(gyro: GyroFrame): string {
  const deg_h = Math.hypot(gyro.precession_card_deg_h, gyro.precession_tilt_deg_h);
  if (deg_h >= 7200) return `${(deg_h / 3600).toFixed(1)}°/s`;
  return deg_h >= 120 ? `${(deg_h / 60).toFixed(0)}°/min` : `${deg_h.toFixed(0)}°/h`;
}

export function arrowLabels(model: Model, { gyro }: BenchFrame, scheme: Scheme): Label[] {
  const made: Label[] = [];
  const add = (text: string, at: Vector3, colour: string, clearOf: readonly Vector3[]): void => {
    made.push({ text, part: null, at: [at], colour, stands: "free", clearOf });
  };
  const shaft = (of: Object3D, from: number, to: number): Vector3[] => [point(of, from, 0, 0), point(of, to, 0, 0)];
  const curl = (of: Object3D, x: number, radius: number): Vector3[] =>
    Array.from({ length: 13 }, (_, i) => point(of, x, radius * Math.cos((i * Math.PI) / 6), radius * Math.sin((i * Math.PI) / 6)));
  const { arrows } = model;
  if (arrows.spin.visible) add(PARTS["spin-axis"], point(arrows.spin, 97, 0, 0), scheme.spin, [...shaft(arrows.spin, 36, 86), ...curl(arrows.spin, 58, 15)]);
  const torque_nm = torqueInGimbal(gyro).length();
  if (arrows.turning.visible && torque_nm > LEAST_TORQUE_NM) {
    const tip = lengthOf(torque_nm) + 10;
    add(`torque ${torqueWords(torque_nm)}`, point(arrows.torque.group, tip, 0, 0), scheme.torque, shaft(arrows.torque.group, 38, tip - 10));
    if (arrows.precession.group.visible) {
      const { group } = arrows.precession;
      add(`precession ${rateWords(gyro)}`, point(group, tip, 0, 0), scheme.precession, [...shaft(group, 38, tip - 10), ...curl(group, tip - 26, 12)]);
      add("axis moves", point(arrows.going.group, 36, 0, 0), scheme.precession, shaft(arrows.going.group, 4, 26));
    }
  }
  if (arrows.finger.visible) {
    add(`finger ${torqueWords(Math.abs(gyro.finger_nm))}`, point(arrows.push.group, -40, 0, 0), scheme.finger, shaft(arrows.push.group, -34, 0));
  }
  return made;
}
