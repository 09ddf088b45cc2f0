"""The symptoms of a fault of the air drive, and those that somebody with a wrong idea expects.

For teaching, of an invented instrument: what is wrong with a real one is found by a licensed maintenance
engineer.
"""

import math
from functools import lru_cache
from typing import Any, NamedTuple, Protocol

from lubberline.earth.atmosphere import density_ratio
from lubberline.instruments.faults import HEALTHY as NO_FAULTS
from lubberline.instruments.faults import Faults, with_fault
from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction, spin_up_s
from lubberline.instruments.suction.rotor import Rotor, run_down_s
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.misconceptions.idea import HEALTHY, Causal, Rule, Tap
from lubberline.units import DEG, EARTH_RATE_RAD_S, INHG_PA, QUARTER_HOUR_S, RAD_PER_RPM

IDLE_RPM, CRUISE_RPM = 800.0, 2400.0
# Common practice, no source: the green part of a suction gauge.
GREEN_INHG = (4.5, 5.5)
# Where the drift on the dial is looked at.
SEEN_LATITUDE_DEG = 60.0


class Sight(NamedTuple):
    """The readings of gauge, ear and stopwatch at sea level.

    Attributes:
        gauge_idle_inhg: the gauge at 800 engine rpm, as tapped.
        gauge_cruise_inhg: at 2,400 rpm.
        rotor_idle_rpm: the rotor's speed.
        rotor_cruise_rpm: the rotor's speed.
        spin_up_min: from rest to 90% of its speed at cruise.
        run_down_min: from cruise to rest with the air cut.
        drift_idle_deg_15min: real wander of an instrument that, healthy at 12,000 rpm, is just at the limit.
        drift_cruise_deg_15min: the same at cruise power.
        seen_drift_deg_15min: what its card moves by at cruise at 60 north standing still, with the Earth's
            part, in the worse sense.
    """

    gauge_idle_inhg: float
    gauge_cruise_inhg: float
    rotor_idle_rpm: float
    rotor_cruise_rpm: float
    spin_up_min: float
    run_down_min: float
    drift_idle_deg_15min: float
    drift_cruise_deg_15min: float
    seen_drift_deg_15min: float


@lru_cache(maxsize=256)
def sight(fault: str = HEALTHY, size: float | None = None, tap: Tap = "cabin") -> Sight:
    """What is seen with a fault.

    Args:
        fault: a name of `instruments.faults.FAULTS` that an air drive can have; '' for none.
        size: of the fault; None: its default size.
        tap: where the gauge is tapped, as in the aircraft file.

    Raises:
        InputError: for a fault that does not exist or a size out of range.
    """
    faults = (
        with_fault(
            NO_FAULTS,
            fault,
            math.nan if size is None else size,
        )
        if fault
        else NO_FAULTS
    )
    system, rotor = SuctionSystem(), Rotor()
    idle = symptoms(IDLE_RPM, 0.0, system, rotor, faults)
    cruise = symptoms(CRUISE_RPM, 0.0, system, rotor, faults)
    cabin = tap == "cabin"
    earth_deg = EARTH_RATE_RAD_S * math.sin(SEEN_LATITUDE_DEG * DEG) * QUARTER_HOUR_S / DEG
    return Sight(
        idle.cabin_gauge_inhg if cabin else idle.instrument_gauge_inhg,
        cruise.cabin_gauge_inhg if cabin else cruise.instrument_gauge_inhg,
        idle.rotor_rpm,
        cruise.rotor_rpm,
        cruise.spin_up_min,
        cruise.run_down_min,
        idle.limit_drift_deg_15min,
        cruise.limit_drift_deg_15min,
        cruise.limit_drift_deg_15min + earth_deg,
    )


class Seen(Protocol):
    """Where the true fields of a `Sight` come from: `sight`, or flights."""

    def __call__(self, fault: str = ..., size: float | None = ..., tap: Tap = ...) -> Any:
        """The true sight with a fault."""


def _by_rule(rule: Rule, name: str, fault: str, size: float | None, tap: Tap, seen: Seen) -> float:
    """A field as a rule has it."""
    other = fault if rule.as_fault is None else rule.as_fault
    tapped = rule.as_tap or tap
    taken = seen(other, size if other == fault else None, tapped)
    factor = rule.factor
    if rule.by_gauge is not None:
        gauge, healthy = seen(fault, size, tapped), seen(HEALTHY, None, tapped)
        factor *= getattr(gauge, rule.by_gauge) / getattr(healthy, rule.by_gauge)
    expected: float = factor * getattr(taken, rule.as_field or name)
    return expected


def believed_field(
    idea: Causal,
    name: str,
    fault: str = HEALTHY,
    size: float | None = None,
    tap: Tap = "cabin",
    seen: Seen | None = None,
) -> float:
    """One field of what somebody with a causal wrong idea expects to see, by the last rule that changes it.

    Args:
        idea: the wrong idea.
        name: of the field of `Sight`.
        fault: as in `sight`.
        size: as in `sight`.
        tap: as in `sight`.
        seen: where true fields come from; `sight` without it.
    """
    seen = seen or sight
    really = seen(fault, size, tap)
    for rule in reversed(idea.rules):
        if name not in rule.fields or (rule.faults and fault not in rule.faults):
            continue
        if rule.in_the_green and not GREEN_INHG[0] <= really.gauge_cruise_inhg <= GREEN_INHG[1]:
            continue
        return _by_rule(rule, name, fault, size, tap, seen)
    true: float = getattr(really, name)
    return true


def believed_sight(
    idea: Causal, fault: str = HEALTHY, size: float | None = None, tap: Tap = "cabin"
) -> Sight:
    """What somebody with a causal wrong idea expects to see with a fault; arguments and errors as `sight`."""
    return Sight(*(believed_field(idea, name, fault, size, tap) for name in Sight._fields))


# Common practice, no source: the usual allowance for friction drift at full rotor speed.
LIMIT_DRIFT_DEG_15MIN = 3.0


class Symptoms(NamedTuple):
    """The readings of a drive in steady conditions.

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


def wander_factor(aircraft: Aircraft, faults: Faults) -> float:
    """Real wander at cruise over that of a healthy instrument at 12,000 rpm; inf for a rotor at rest."""
    seen = symptoms(CRUISE_RPM, 0.0, suction_system_of(aircraft), Rotor(), faults)
    return seen.limit_drift_deg_15min / LIMIT_DRIFT_DEG_15MIN


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
