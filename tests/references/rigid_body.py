"""Rotor, housing and vertical gimbal on a moving base, in MuJoCo, which knows nothing of our equations.

The base is a ball joint of great inertia: its attitude and rate are set at every step, and the torque
that gives its angular acceleration is applied. (A 'mocap' base carries no velocity, and so no gyroscopic
coupling.) Friction, levelling, drag and the stop are applied generalised forces, held over a step. World
axes are inertial, body axes forward-right-down. Every part is balanced but for the mass of the latitude
balance, a shift of the rotor along its axis, on which gravity works straight down in the level frame.
"""

import math
from typing import NamedTuple

import mujoco
import numpy as np
from numpy.typing import NDArray

from tests.references.base_motion import BaseMotion
from tests.references.gyro_values import ROTOR_RAD_S, Values, torques
from tests.references.rigid_equations import RigidTrace, steady_gimbal_rates

Floats = NDArray[np.float64]
GRAVITY_MPS2 = 9.80665
ROTOR_KG = 0.2
BASE_INERTIA = 1e3
STEP_S = 0.002

MODEL = """
<mujoco>
  <option timestep="{step_s}" integrator="{integrator}"/>
  <worldbody>
    <body name="base">
      <joint type="ball"/>
      <inertial pos="0 0 0" mass="1" diaginertia="{base} {base} {base}"/>
      <body name="outer gimbal">
        <joint type="hinge" axis="0 0 1"/>
        <inertial pos="0 0 0" mass="0.1" diaginertia="{v.outer_x} {v.outer_y} {v.outer_z}"/>
        <body name="housing">
          <joint type="hinge" axis="0 1 0"/>
          <inertial pos="0 0 0" mass="0.1" diaginertia="{v.housing_x} {v.housing_y} {v.housing_z}"/>
          <body name="rotor">
            <joint type="hinge" axis="1 0 0"/>
            <inertial
              pos="{shift_m} 0 0" mass="{rotor_kg}" diaginertia="{v.rotor_j} {v.rotor_jt} {v.rotor_jt}"/>
          </body>
        </body>
      </body>
    </body>
  </worldbody>
</mujoco>
"""


def _product(left: Floats, right: Floats) -> Floats:
    w, x, y, z = left.T
    a, b, c, d = right.T
    return np.stack(
        (
            w * a - x * b - y * c - z * d,
            w * b + x * a + y * d - z * c,
            w * c - x * d + y * a + z * b,
            w * d + x * c - y * b + z * a,
        ),
        axis=1,
    )


def _about(axis: int, angle_rad: Floats) -> Floats:
    quaternion = np.zeros((len(angle_rad), 4))
    quaternion[:, 0] = np.cos(angle_rad / 2.0)
    quaternion[:, axis] = np.sin(angle_rad / 2.0)
    return quaternion


def _level_quaternion(rate_rad_s: tuple[float, float, float], time_s: Floats) -> Floats:
    size = math.sqrt(sum(rate * rate for rate in rate_rad_s))
    quaternion = np.zeros((len(time_s), 4))
    quaternion[:, 0] = np.cos(size * time_s / 2.0)
    if size > 0.0:
        quaternion[:, 1:] = np.outer(np.sin(size * time_s / 2.0), np.asarray(rate_rad_s) / size)
    return quaternion


def _down(level: Floats) -> Floats:
    """The level frame's down axis in inertial space."""
    w, x, y, z = level.T
    return np.stack((2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)), axis=1)


def base_quaternions(base: BaseMotion, time_s: Floats) -> Floats:
    """Attitude of the body in inertial space; the level frame turns at a constant rate in its own axes."""
    heading, pitch, bank = base.attitude(time_s)
    body = _product(_product(_about(3, heading), _about(2, pitch)), _about(1, bank))
    return _product(_level_quaternion(base.level_rate_rad_s, time_s), body)


class Drive(NamedTuple):
    """The base at every step, computed beforehand: attitude, rates, torque, gravity (inertial axes)."""

    quaternion: Floats
    rates: Floats
    torque: Floats
    gravity: Floats


def drive_of(base: BaseMotion, duration_s: float, step_s: float = STEP_S) -> Drive:
    """What is set and applied at the base at each step."""
    time_s = np.arange(round(duration_s / step_s) + 1) * step_s
    rates = base.body_rates(time_s)
    return Drive(
        base_quaternions(base, time_s),
        rates,
        BASE_INERTIA * np.diff(rates, axis=0) / step_s,
        GRAVITY_MPS2 * _down(_level_quaternion(base.level_rate_rad_s, time_s)),
    )


def simulate_rigid_body(
    base: BaseMotion,
    duration_s: float,
    *,
    values: Values,
    a_rad: float = 0.0,
    b_rad: float = 0.0,
    rotor_rad_s: float = ROTOR_RAD_S,
    step_s: float = STEP_S,
    every_s: float = 0.1,
    gimbal_rates_rad_s: tuple[float, float] | None = None,
    integrator: str = "RK4",
    drive: Drive | None = None,
) -> RigidTrace:
    """Card and tilt every `every_s`; without given gimbal rates it starts free of nutation."""
    count, stride = round(duration_s / step_s), round(every_s / step_s)
    attitude, rates, push, gravity = drive or drive_of(base, duration_s, step_s)
    shift_m = values.balance_nm / (ROTOR_KG * GRAVITY_MPS2)
    text = MODEL.format(
        step_s=step_s,
        integrator=integrator,
        base=BASE_INERTIA,
        v=values,
        shift_m=shift_m,
        rotor_kg=ROTOR_KG,
    )
    model = mujoco.MjModel.from_xml_string(text)
    data = mujoco.MjData(model)
    qpos, qvel, force = data.qpos, data.qvel, data.qfrc_applied
    qpos[4], qpos[5] = a_rad, b_rad
    adot, bdot = gimbal_rates_rad_s or steady_gimbal_rates(rates[0], a_rad, b_rad, rotor_rad_s, values)
    p, q, r = rates[0]
    along = (p * math.cos(a_rad) + q * math.sin(a_rad)) * math.cos(b_rad) - (r + adot) * math.sin(b_rad)
    qvel[3], qvel[4], qvel[5] = adot, bdot, rotor_rad_s - along

    rows = np.empty((count // stride + 1, 4))
    for k in range(count + 1):
        if k % stride == 0:
            rows[k // stride] = data.time, qpos[4], qpos[5], qvel[5]
        if k == count:
            break
        qpos[:4], qvel[:3], force[:3] = attitude[k], rates[k], push[k]
        if shift_m != 0.0:
            model.opt.gravity[:] = gravity[k]
        force[3], force[4], force[5] = torques(values, qpos[5], qvel[3], qvel[4], qvel[5])
        mujoco.mj_step(model, data)
    return RigidTrace(rows[:, 0], -np.degrees(rows[:, 1]), np.degrees(rows[:, 2]), rows[:, 3])
