"""The laws as data: one record that every kernel is handed, whose defaults are physics.

A wrong idea is a named change of this record (`simulation/misconceptions`), so truth and any number of
wrong ideas run in the same compiled kernels.
"""

from __future__ import annotations

from typing import NamedTuple


class Laws(NamedTuple):
    """Coefficients and switches of every law; the defaults are the physics.

    Switches are 0.0 or 1.0; coefficients multiply the true term.
    """

    # Apparent wander = Earth rate x (sine sin L + cosine cos L + constant), L the latitude,
    # or its absolute value where `earth_both_hemispheres` is 1.
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
    # Travel east at any latitude as much as at 45 deg north; travel north as much as travel east.
    travel_flat: float = 0.0
    travel_northing: float = 0.0
    # Wander by torque goes as (full momentum / momentum) to this power.
    slow_rotor_power: float = 1.0
    # Real wander as a multiple of the true one.
    real_wander: float = 1.0
    # Real wander: 1 if it always makes the card fall.
    real_wander_falls: float = 0.0
    # Gimbal friction: 1 if a still bench shakes it loose as a flying aircraft does.
    bench_shakes: float = 0.0
    # Latitude balance: 1 if it cancels the Earth at the latitude of the moment, not at the one set.
    balance_everywhere: float = 0.0
    # Latitude balance: 1 if it cancels transport wander too.
    balance_cancels_travel: float = 0.0
    # Latitude balance: 1 if it is right at any rotor speed.
    balance_at_any_speed: float = 0.0
    # Bank and pitch as the card's geometry sees them, multiples of the true angles.
    geometry: float = 1.0
    # Pitch alone likewise, on top of that.
    geometry_pitch: float = 1.0
    # 1 if the card's error in a bank goes by what it reads, as though its axis lay along its zero.
    bank_by_quadrant: float = 0.0
    # Levelling as a multiple of the true one.
    levelling: float = 1.0
    # The card creeps towards the reference heading, this many 1/s ('it finds north by itself').
    north_seeking_per_s: float = 0.0
    # Share of every turn by which the card is dragged along with the aircraft.
    turn_drag: float = 0.0
    # A card that has tumbled goes round at this rate until it is set.
    tumble_spin_rad_s: float = 0.0
    # 0 if a caged gyro goes on keeping its direction.
    caging: float = 1.0
    # Sign with which variation is applied to get from true to magnetic (1: magnetic = true - variation).
    variation_sign: float = 1.0
    # Compass: turning and acceleration errors as multiples of the true ones.
    compass_turning: float = 1.0
    compass_acceleration: float = 1.0
    # Compass: 1 if its errors keep the northern hemisphere's sense in the southern one.
    compass_northern_everywhere: float = 0.0
    # Compass: 1 if turning errs on east and west, acceleration on north and south.
    compass_swapped: float = 0.0
    # Compass: 1 if it leads or lags through north and south by the latitude, whatever the bank.
    compass_by_latitude: float = 0.0
    # Compass: the case's pull on the liquid as a multiple of the true one.
    compass_liquid: float = 1.0
    # Compass: 0 if its card comes to rest at once.
    compass_swings: float = 1.0
    # Compass: deviation as a multiple of the true one (-1: the card applied the wrong way round).
    compass_deviation: float = 1.0


PHYSICS = Laws()
