"""What a sick air drive shows a person: suction, rotor speed, times and drift, each from the model.

Teaching values of an invented instrument; whether a real one is fit to fly is decided by a licensed
maintenance engineer with the maker's data.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from lubberline.compiled import kernel
from lubberline.earth.atmosphere import density_ratio
from lubberline.instruments.airflow import SuctionSystem
from lubberline.instruments.faults import Faults
from lubberline.instruments.rotor import Rotor, run_down_s
from lubberline.instruments.suction import settle_suction, suction_at_rest, suction_step
from lubberline.units import INHG_PA, RAD_PER_RPM

# Common practice, no source: the usual allowance for friction drift at full rotor speed.
LIMIT_DRIFT_DEG_15MIN = 3.0
LONGEST_SPIN_UP_S = 3600.0


class Symptoms(NamedTuple):
    """What a drive shows in steady conditions.

    Attributes:
        cabin_gauge_inhg: by a gauge from the manifold to the cabin.
        instrument_gauge_inhg: by a gauge across the instruments.
        rotor_rpm: steady.
        spin_up_min: from rest to 90 % of the steady speed; nan if the rotor never turns.
        run_down_min: from the steady speed to rest with the air cut.
        limit_drift_deg_15min: real wander of an instrument that, healthy at full speed, is just at the
            usual limit of 3 deg in 15 min; inf for a rotor at rest.
    """

    cabin_gauge_inhg: float
    instrument_gauge_inhg: float
    rotor_rpm: float
    spin_up_min: float
    run_down_min: float
    limit_drift_deg_15min: float


@kernel
def spin_up_s(
    engine_rpm: float, altitude_m: float, system: SuctionSystem, rotor: Rotor, faults: Faults, share: float
) -> float:
    """Time from rest to a share of the steady speed; nan if that takes over an hour or never comes."""
    goal = share * settle_suction(engine_rpm, altitude_m, system, rotor, faults).rotor_rad_s
    state = suction_at_rest(altitude_m, system, rotor, faults)
    step_s = 0.1
    time_s = 0.0
    while goal > 0.0 and time_s < LONGEST_SPIN_UP_S:
        state = suction_step(state, engine_rpm, altitude_m, system, rotor, faults, step_s)
        time_s += step_s
        if state.rotor_rad_s >= goal:
            return time_s
    return math.nan


def symptoms(
    engine_rpm: float, altitude_m: float, system: SuctionSystem, rotor: Rotor, faults: Faults
) -> Symptoms:
    """What this drive shows at an engine speed and an altitude above mean sea level."""
    state = settle_suction(engine_rpm, altitude_m, system, rotor, faults)
    air, speed = state.airflow, state.rotor_rad_s
    slowness = rotor.full_speed_rad_s / speed if speed > 0.0 else math.inf
    return Symptoms(
        air.manifold_pa / INHG_PA,
        air.instrument_pa / INHG_PA,
        speed / RAD_PER_RPM,
        spin_up_s(engine_rpm, altitude_m, system, rotor, faults, 0.9) / 60.0,
        # With the air cut the housing fills to the cabin's pressure.
        run_down_s(speed, density_ratio(altitude_m), faults.bearings_worn, rotor) / 60.0,
        LIMIT_DRIFT_DEG_15MIN * slowness * state.wear_factor,
    )
