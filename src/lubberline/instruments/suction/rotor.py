"""The rotor of an air-driven or electric gyro: drive, drag and run-down.

J dw/dt = push - T0 - c2 (rho / rho0) w^2, the push falling in proportion to speed, rho that of the air inside
the housing. Only the rotor's speed is followed here; where its axis points is the gyro's own business.
"""

import math
from typing import NamedTuple

from lubberline.compiled import kernel
from lubberline.units import RAD_PER_RPM


class Rotor(NamedTuple):
    """A rotor; engineering choices for a small instrument, not measurements of one.

    Inertia and bearing friction are a study's (J, T0). Push and windage are fitted to what the trade expects
    (common practice, no source): 12,000 to 13,500 rpm with 4.9 inHg across the jets at sea level, 90 % of
    that in 5 to 6 min from rest, and 8 to 12 min to run down from there. The study's own (0.08 and 1.39e-10)
    take 7.1 min: more push and more windage give the same speed sooner.

    Attributes:
        inertia_kgm2: about the spin axis (J).
        full_speed_rad_s: the speed at which real wander and latitude nut are quoted.
        jet_radius_m: of the buckets that the jet strikes (r).
        jet_efficiency: share of the jet's momentum that the buckets take (eta_j); fitted to the spin-up.
        bearing_torque_nm: friction that does not depend on speed (T0).
        windage_nms2: drag by the square of speed in sea-level air (c2); fitted to the speed, and to run-down
            after it.
        worn_friction_factor: factor on `bearing_torque_nm` when `bearings_worn` is 1.
        worn_wander_factor: factor on the torques of real wander and gimbal friction, with worn bearings.
    """

    inertia_kgm2: float = 5.76e-5
    full_speed_rad_s: float = 12000.0 * RAD_PER_RPM
    jet_radius_m: float = 0.024
    jet_efficiency: float = 0.095
    bearing_torque_nm: float = 6e-5
    windage_nms2: float = 2e-10
    worn_friction_factor: float = 3.0
    worn_wander_factor: float = 2.5


@kernel
def bearing_friction_nm(bearings_worn: float, rotor: Rotor) -> float:
    """Torque of bearing friction with bearings as worn as given."""
    return rotor.bearing_torque_nm * (1.0 + (rotor.worn_friction_factor - 1.0) * bearings_worn)


@kernel
def wear_factor(bearings_worn: float, rotor: Rotor) -> float:
    """Factor on the torques of real wander and gimbal friction, 1 = as new."""
    return 1.0 + (rotor.worn_wander_factor - 1.0) * bearings_worn


@kernel
def rotor_step(
    rotor_rad_s: float,
    push_nm: float,
    push_fall_nms: float,
    density_ratio: float,
    bearings_worn: float,
    rotor: Rotor,
    dt_s: float,
) -> tuple[float, float]:
    """The rotor's speed after `dt_s`, and the net torque that changed it.

    The linearly implicit midpoint rule: of second order and stable for any step. A rotor that has come
    to rest stays there until the push exceeds the friction.

    Args:
        rotor_rad_s: speed now, not negative.
        push_nm: what the drive would give at standstill; the push is `push_nm - push_fall_nms * w`.
        push_fall_nms: by how much the push falls for each rad/s.
        density_ratio: of the air about the rotor, inside its housing, to that of sea level.
        bearings_worn: as in `Faults`.
        rotor: its parameters.
        dt_s: step; 0 gives the torque of the moment.
    """
    windage = rotor.windage_nms2 * density_ratio * rotor_rad_s
    friction = bearing_friction_nm(bearings_worn, rotor)
    net = push_nm - (push_fall_nms + windage) * rotor_rad_s - friction
    if rotor_rad_s <= 0.0 and net <= 0.0:
        return 0.0, 0.0
    stiffness = push_fall_nms + 2.0 * windage
    torque = net / (1.0 + 0.5 * dt_s * stiffness / rotor.inertia_kgm2)
    after = rotor_rad_s + torque * dt_s / rotor.inertia_kgm2
    if after < 0.0:
        return 0.0, -rotor_rad_s * rotor.inertia_kgm2 / dt_s
    return after, torque


@kernel
def steady_speed_rad_s(
    push_nm: float, push_fall_nms: float, density_ratio: float, bearings_worn: float, rotor: Rotor
) -> float:
    """The speed at which push and drag balance; 0 when the push does not overcome the friction."""
    spare = push_nm - bearing_friction_nm(bearings_worn, rotor)
    if spare <= 0.0:
        return 0.0
    square = rotor.windage_nms2 * density_ratio
    return 2.0 * spare / (push_fall_nms + math.sqrt(push_fall_nms * push_fall_nms + 4.0 * square * spare))


@kernel
def run_down_s(rotor_rad_s: float, density_ratio: float, bearings_worn: float, rotor: Rotor) -> float:
    """Time to rest with the drive cut: the closed form J / sqrt(T0 c) atan(w sqrt(c / T0))."""
    friction = bearing_friction_nm(bearings_worn, rotor)
    square = rotor.windage_nms2 * density_ratio
    angle = math.atan(rotor_rad_s * math.sqrt(square / friction))
    return rotor.inertia_kgm2 / math.sqrt(friction * square) * angle
