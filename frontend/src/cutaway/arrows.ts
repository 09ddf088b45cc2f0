// The arrows of a moment: spin axis, torque, precession, and the push of a finger.

import { Group, Vector3 } from "three";
import type { Finish } from "./shapes/finish.ts";
import type { GyroFrame } from "./frame.ts";
import type { Scheme } from "./shapes/palette.ts";
import { type Arrow, arrowPaint, makeArrow, makeCurl, type Paint } from "./shapes/vectors.ts";

const DEG = Math.PI / 180;
/** Weaker torques are not drawn: friction that only fluctuates. */
export const LEAST_TORQUE_NM = 4e-7;
const X = new Vector3(1, 0, 0);

/** Spin axis in the outer gimbal's axes. */
function spinInGimbal(gyro: GyroFrame): Vector3 {
  return new Vector3(Math.cos(gyro.tilt_deg * DEG), 0, -Math.sin(gyro.tilt_deg * DEG));
}

/** Torque in the outer gimbal's axes, N m: about the housing's axis (y) and about its own (z). */
export function torqueInGimbal(gyro: GyroFrame): Vector3 {
  return new Vector3(0, gyro.torque_inner_nm, gyro.torque_outer_nm);
}

/** Axis about which the spin axis turns: spin crossed with torque, for torque = precession x spin momentum. */
function precessionInGimbal(gyro: GyroFrame): Vector3 {
  return spinInGimbal(gyro).cross(torqueInGimbal(gyro));
}

/** Drawn length past the gimbal: grows with the logarithm, as torques differ a thousandfold. */
export const lengthOf = (torque_nm: number): number => 58 + 11 * Math.log10(1 + torque_nm / 1e-6);

export interface Arrows {
  spin: Group;
  /** Torque and precession, in the outer gimbal's axes about the rotor's centre. */
  turning: Group;
  torque: Arrow;
  precession: Arrow;
  /** Where the end of the spin axis moves. */
  going: Arrow;
  finger: Group;
  push: Arrow;
  colourBy: (scheme: Scheme) => void;
  pose: (gyro: GyroFrame, turning_rotor: boolean) => void;
}

export function makeArrows(finish: Finish): Arrows {
  const axis = makeArrow("single", arrowPaint(finish));
  axis.stretch(36, 86);
  const spin = new Group();
  spin.name = "spin-axis";
  const round = makeCurl(13, axis.paint);
  round.position.x = 58;
  spin.add(axis.group, round);
  const torque = makeArrow("double", arrowPaint(finish));
  const precession = makeArrow("dashed", arrowPaint(finish));
  const precessionCurl = makeCurl(11, precession.paint, 4.4, 1.1);
  precession.group.add(precessionCurl);
  const going = makeArrow("single", precession.paint);
  going.stretch(4, 26);
  const turning = new Group();
  turning.add(torque.group, precession.group, going.group);
  const push = makeArrow("single", arrowPaint(finish));
  push.stretch(-34, 0);
  const finger = new Group();
  finger.add(push.group);
  const aim = (arrow: Arrow, along: Vector3): void => {
    arrow.group.quaternion.setFromUnitVectors(X, along);
  };
  return {
    spin,
    turning,
    torque,
    precession,
    going,
    finger,
    push,
    colourBy: (scheme) => {
      const set = ({ near, behind }: Paint, colour: string): void => {
        near.color.set(colour);
        behind.color.set(colour);
      };
      set(axis.paint, scheme.spin);
      set(torque.paint, scheme.torque);
      set(precession.paint, scheme.precession);
      set(push.paint, scheme.finger);
    },
    pose: (gyro, turningRotor) => {
      const force = torqueInGimbal(gyro);
      const size = force.length();
      turning.visible = size > LEAST_TORQUE_NM;
      if (turning.visible) {
        aim(torque, force.clone().normalize());
        torque.stretch(38, lengthOf(size));
        const turn = precessionInGimbal(gyro).normalize();
        precession.group.visible = going.group.visible = turningRotor && turn.lengthSq() > 0;
        aim(precession, turn);
        precession.stretch(38, lengthOf(size));
        precessionCurl.position.x = lengthOf(size) - 16;
        const spinning = spinInGimbal(gyro);
        aim(going, turn.clone().cross(spinning).normalize());
        going.group.position.copy(spinning).multiplyScalar(72);
      }
      finger.visible = gyro.finger_nm !== 0;
      // Clockwise: pressed down on the card's right; anticlockwise on its left.
      const side = gyro.finger_nm > 0 ? 1 : -1;
      push.group.position.set(-70, side * 38, 0);
      push.group.rotation.set(0, -Math.PI / 2, 0);
    },
  };
}
