"""One gyro of a heading indicator: its parameters and its state.

The default values are engineering choices for a small air-driven instrument, not measurements of one.
"""

import math
from typing import NamedTuple

from lubberline.earth.geodesy import transport_rate_rad_s
from lubberline.errors import in_range
from lubberline.units import (
    DEG,
    EARTH_RATE_RAD_S,
    GREATEST_LATITUDE_DEG,
    HOUR_S,
    KT_MPS,
    QUARTER_HOUR_S,
    RAD_PER_RPM,
)

FULL_SPEED_RAD_S = 12000.0 * RAD_PER_RPM

# How the gyro is computed at the moment.
AVERAGED = 0.0
RIGID = 1.0
HELD = 2.0


class Gyro(NamedTuple):
    """The parameters of a heading indicator's gyro; SI units.

    Axes: the outer (vertical) gimbal turns about the body's floor axis, the housing about the outer
    gimbal's y axis, the rotor about the housing's x axis.
    """

    rotor_inertia_kgm2: float = 5.76e-5
    rotor_cross_inertia_kgm2: float = 3.16e-5
    outer_inertia_x_kgm2: float = 8e-5
    outer_inertia_y_kgm2: float = 9e-5
    outer_inertia_z_kgm2: float = 7e-5
    housing_inertia_x_kgm2: float = 2e-5
    housing_inertia_y_kgm2: float = 3e-5
    housing_inertia_z_kgm2: float = 3e-5
    # Momentum for which real wander and latitude nut are quoted: the rotor at 12,000 rpm.
    full_momentum_nms: float = 5.76e-5 * FULL_SPEED_RAD_S
    outer_friction_nm: float = 2e-5
    inner_friction_nm: float = 1e-5
    # Friction goes as tanh(rate / this): the shaking of the mount breaks it loose.
    shaken_rate_rad_s: float = 0.05
    still_rate_rad_s: float = 1e-4
    levelling_nm: float = 2e-4
    # Torque of the balance mass about the housing's axis at one g, wings level.
    balance_nm: float = 0.0
    stop_rad: float = 85.0 * DEG
    # Stiff enough to give by a fraction of a degree, soft enough for 2 ms steps.
    stop_stiffness_nm_rad: float = 10.0
    stop_damping_nms_rad: float = 0.02
    # 1: the knob cages the gyro and turns gimbal and card together; 0: it turns the card alone.
    knob_turns_gimbal: float = 0.0


class Shares(NamedTuple):
    """Shares of the gimbals' inertial rates that each law drives while the motion is that of a rigid body.

    Of the housing about its y axis and of the outer gimbal about the floor axis, rad/s.
    """

    rest_housing: float = 0.0
    rest_gimbal: float = 0.0
    levelling_housing: float = 0.0
    levelling_gimbal: float = 0.0
    balance_housing: float = 0.0
    balance_gimbal: float = 0.0


class Booked(NamedTuple):
    """The movement of the card since it was last set, by cause: radians of card reading, unwrapped."""

    earth_rad: float = 0.0
    travel_rad: float = 0.0
    friction_rad: float = 0.0
    balance_rad: float = 0.0
    levelling_rad: float = 0.0
    tumble_rad: float = 0.0
    seeking_rad: float = 0.0


class Drift(NamedTuple):
    """Motion of the spin axis over the last averaged step, per second, in the level frame."""

    n: float = 0.0
    e: float = 0.0
    d: float = 0.0


# Inside kernels no field of a record has a default: there these stand for one.
STILL = Shares()
NOTHING_BOOKED = Booked()
NO_DRIFT = Drift()


class GyroState(NamedTuple):
    """The state of the gyro, and the movement of its card by cause since it was last set.

    The spin axis is a unit vector in the level frame. `shares` is zero while the motion is averaged,
    `drift` while it is not.
    """

    spin_n: float
    spin_e: float
    spin_d: float
    knob_rad: float
    booked: Booked = NOTHING_BOOKED
    regime: float = AVERAGED
    caged: float = 0.0
    on_stop: float = 0.0
    shares: Shares = STILL
    drift: Drift = NO_DRIFT


class GyroLaws(NamedTuple):
    """Coefficients and switches of every law of the heading indicator; the defaults are the physics.

    Switches are 0.0 or 1.0; coefficients multiply the true term.
    """

    # Apparent wander = Earth rate x (sine sin L + side (cosine cos L + constant)), L the latitude, or its
    # absolute value where `earth_both_hemispheres` is 1; side is -1 south of the equator, otherwise 1.
    earth_sine: float = 1.0
    earth_cosine: float = 0.0
    earth_constant: float = 0.0
    earth_both_hemispheres: float = 0.0
    # The same going straight up with latitude, as a multiple of Earth rate x latitude / 90 deg.
    earth_linear: float = 0.0
    # Apparent wander of an aircraft that stands still, as a multiple of the true one.
    earth_when_parked: float = 1.0
    # Transport wander as a multiple of the true one.
    travel: float = 1.0
    # Travel east at any latitude as much as at 45 deg on its side of the equator; travel north as much as
    # travel east.
    travel_flat: float = 0.0
    travel_northing: float = 0.0
    # Wander by torque goes as (full momentum / momentum) to this power.
    slow_rotor_power: float = 1.0
    # Real wander as a multiple of the true one.
    real_wander: float = 1.0
    # Real wander: 1 if it always makes the card drift low.
    real_wander_falls: float = 0.0
    # Gimbal friction: 1 if a still bench shakes it loose as a flying aircraft does.
    bench_shakes: float = 0.0
    # Latitude nut: 1 if it cancels the Earth at the present latitude, not at the one set.
    balance_everywhere: float = 0.0
    # Latitude nut: 1 if it cancels transport wander too.
    balance_cancels_travel: float = 0.0
    # Latitude nut: 1 if it is right at any rotor speed.
    balance_at_any_speed: float = 0.0
    # Bank and pitch as the card's geometry sees them, multiples of the true angles.
    geometry: float = 1.0
    # The same for pitch alone, in addition.
    geometry_pitch: float = 1.0
    # 1 if the card's error in a bank depends on its reading, as if its axis were along its zero.
    bank_by_quadrant: float = 0.0
    # Erection as a multiple of the true one.
    levelling: float = 1.0
    # The card creeps towards the reference heading, this many 1/s ('it finds north by itself').
    north_seeking_per_s: float = 0.0
    # Share of every turn by which the card is dragged along with the aircraft.
    turn_drag: float = 0.0
    # A card that has tumbled goes round at this rate until it is set.
    tumble_spin_rad_s: float = 0.0
    # 0 if a caged gyro keeps its direction.
    caging: float = 1.0
    # Sign with which variation is applied to get from true to magnetic (1: magnetic = true - variation).
    variation_sign: float = 1.0


def balance_torque_nm(latitude_deg: float, full_momentum_nms: float) -> float:
    """Torque of a latitude nut that holds the card still at a latitude, at full rotor speed, one g.

    Source: torque = H x rate with the apparent wander's rate, Earth rate x sin(latitude).
    """
    return full_momentum_nms * EARTH_RATE_RAD_S * math.sin(latitude_deg * DEG)


def wander_torque_nm(real_wander_deg_15min: float, full_momentum_nms: float) -> float:
    """Torque about the housing's axis that moves the card by so much in 15 min at full rotor speed.

    A positive wander raises the card's reading, for which the torque is negative.
    """
    return -full_momentum_nms * real_wander_deg_15min * DEG / QUARTER_HOUR_S


GREATEST_SPEED_KT = 700.0


class Wander(NamedTuple):
    """Rates of the card's reading, positive rising; degrees an hour."""

    earth_deg_h: float
    travel_deg_h: float

    @property
    def total_deg_h(self) -> float:
        """Both together."""
        return self.earth_deg_h + self.travel_deg_h


def wander(latitude_deg: float, groundspeed_kt: float = 0.0, track_deg: float = 90.0) -> Wander:
    """Apparent wander and transport wander of a free, perfect gyro's card at sea level.

    Apparent wander is -Omega sin(latitude); transport wander -(v_E / R_N) tan(latitude), R_N the radius
    of WGS 84 across the meridian.

    Args:
        latitude_deg: north positive, to 89.9.
        groundspeed_kt: 0 to 700.
        track_deg: true, 0 to 360.

    Raises:
        InputError: for a value out of range or not a number.
    """
    latitude = in_range("latitude", latitude_deg, -GREATEST_LATITUDE_DEG, GREATEST_LATITUDE_DEG) * DEG
    in_range("groundspeed", groundspeed_kt, 0.0, GREATEST_SPEED_KT)
    in_range("track", track_deg, 0.0, 360.0)
    speed_mps = groundspeed_kt * KT_MPS
    north, east = speed_mps * math.cos(track_deg * DEG), speed_mps * math.sin(track_deg * DEG)
    _, _, travel = transport_rate_rad_s(latitude, 0.0, north, east)
    per_hour = HOUR_S / DEG
    return Wander(-EARTH_RATE_RAD_S * math.sin(latitude) * per_hour, travel * per_hour)
