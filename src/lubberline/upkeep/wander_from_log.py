"""What a log says of an instrument's own wander, as a plan takes it: at full rotor speed."""

from __future__ import annotations

import math

from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.panel import suction_system_of
from lubberline.simulation.symptoms import CRUISE_RPM, LIMIT_DRIFT_DEG_15MIN, symptoms
from lubberline.upkeep.plan_records import HEALTHY, OwnWander
from lubberline.upkeep.records import Estimate

TIMES_SD = 1.96


def own_wander_from(estimate: Estimate, aircraft: Aircraft) -> OwnWander:
    """The estimate, made at cruise, as wander at 12,000 rpm, of which the engine makes more or less.

    The faults that the aircraft's file has from the start are flown again, so that they are taken out here.
    """
    seen = symptoms(CRUISE_RPM, 0.0, suction_system_of(aircraft), Rotor(), aircraft.faults_at_start)
    factor = seen.limit_drift_deg_15min / LIMIT_DRIFT_DEG_15MIN
    if not (math.isfinite(factor) and factor > 0.0):
        return HEALTHY
    spread = (estimate.high_deg_15min - estimate.low_deg_15min) / (2.0 * TIMES_SD)
    return OwnWander(estimate.mean_deg_15min / factor, max(spread, 0.0) / factor, "the aircraft's log")
