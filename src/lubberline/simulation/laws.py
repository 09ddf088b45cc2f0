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
    # Transport wander as a multiple of the true one.
    travel: float = 1.0
    # Wander by torque goes as (full momentum / momentum) to this power.
    slow_rotor_power: float = 1.0
    # Real wander as a multiple of the true one.
    real_wander: float = 1.0
    # Latitude balance: 1 if it cancels the Earth at the latitude of the moment, not at the one set.
    balance_everywhere: float = 0.0
    # Latitude balance: 1 if it cancels transport wander too.
    balance_cancels_travel: float = 0.0
    # Bank and pitch as the card's geometry sees them, multiples of the true angles.
    geometry: float = 1.0
    # Levelling as a multiple of the true one.
    levelling: float = 1.0
    # The card creeps towards the reference heading, this many 1/s ('it finds north by itself').
    north_seeking_per_s: float = 0.0
    # Sign with which variation is applied to get from true to magnetic (1: magnetic = true - variation).
    variation_sign: float = 1.0
    # Compass: turning and acceleration errors as multiples of the true ones.
    compass_turning: float = 1.0
    compass_acceleration: float = 1.0
    # Compass: 1 if its errors keep the northern hemisphere's sense in the southern one.
    compass_northern_everywhere: float = 0.0
    # Compass: deviation as a multiple of the true one (-1: the card applied the wrong way round).
    compass_deviation: float = 1.0


PHYSICS = Laws()
