"""Values of the gyro and its force laws, as the references take them.

The numbers are those of the reference study's instrument (rotor of brass, 12,000 rpm); its force laws are
assumptions. They are written here a second time on purpose: the references read nothing of the project.
"""

import math
from typing import NamedTuple

from numba import njit

ROTOR_RAD_S = 12_000.0 * 2.0 * math.pi / 60.0


class Values(NamedTuple):
    """SI units. A force that a test does not want is set to zero."""

    rotor_j: float = 5.76e-5
    rotor_jt: float = 3.16e-5
    outer_x: float = 8e-5
    outer_y: float = 9e-5
    outer_z: float = 7e-5
    housing_x: float = 2e-5
    housing_y: float = 3e-5
    housing_z: float = 3e-5
    outer_friction_nm: float = 2e-5
    inner_friction_nm: float = 1e-5
    mount_vibration_rad_s: float = 0.05
    levelling_nm: float = 2e-4
    inner_torque_nm: float = 0.0
    outer_torque_nm: float = 0.0
    # Net torque on the rotor, reacted by the housing: -(drag + drag_square w^2).
    drag_nm: float = 0.0
    drag_square: float = 0.0
    # Torque of the balance mass about the housing's axis at one g, wings level (MuJoCo's model only).
    balance_nm: float = 0.0
    stop_rad: float = math.radians(85.0)
    stop_stiffness: float = 10.0
    stop_damping: float = 0.02


FREE = Values(outer_friction_nm=0.0, inner_friction_nm=0.0, levelling_nm=0.0)
SPINNING_DOWN = Values(drag_nm=6e-5, drag_square=1.393e-10, levelling_nm=0.0)


@njit
def torques(v: Values, b: float, adot: float, bdot: float, rotor_rad_s: float) -> tuple[float, float, float]:
    """Torque about the outer axis, about the inner axis, and on the rotor along the spin axis."""
    outer = v.outer_torque_nm + v.levelling_nm * math.sin(b)
    outer -= v.outer_friction_nm * math.tanh(adot / v.mount_vibration_rad_s)
    inner = v.inner_torque_nm - v.inner_friction_nm * math.tanh(bdot / v.mount_vibration_rad_s)
    beyond = abs(b) - v.stop_rad
    if beyond > 0.0:
        side = math.copysign(1.0, b)
        inner -= side * max(v.stop_stiffness * beyond + v.stop_damping * side * bdot, 0.0)
    return outer, inner, -v.drag_nm - v.drag_square * rotor_rad_s * rotor_rad_s
