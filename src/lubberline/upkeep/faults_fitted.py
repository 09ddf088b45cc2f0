"""Which fault fits: gauge at idle and cruise, spin-down and drift together.

Faults that look alike are one class. Each class gives what would be seen at each of its sizes; how far the
readings are from that, and how well its drift agrees with what the checks say, decide. Sizes are weighed
alike. Nothing is asked of a gauge that was not read.
"""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from lubberline.arrays import Floats
from lubberline.instruments.faults import FAULTS, HEALTHY, with_fault
from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction
from lubberline.instruments.suction.rotor import Rotor, run_down_s, wear_factor
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.symptoms import CRUISE_RPM, IDLE_RPM
from lubberline.units import DEG, EARTH_RATE_RAD_S, INHG_PA
from lubberline.upkeep import filtering
from lubberline.upkeep.records import FaultClass, FaultFit, Log

# The engine's faults that make up each class; those of one class look alike at the gauge.
CLASSES: dict[FaultClass, tuple[str, ...]] = {
    "healthy": (),
    "low_flow": ("pump", "leak"),
    "regulator": ("regulator",),
    "filter": ("filter",),
    "bearings": ("bearings",),
    "balance": (),
}
# Those that an electric drive can have.
ELECTRIC: tuple[FaultClass, ...] = ("healthy", "bearings", "balance")
SIZES = 12
# In place of infinity, for a rotor that does not turn.
NEVER = 1e3
# Of its default size, which is large enough to be seen: how small and how large a fault may be.
SMALLEST_SHARE, LARGEST_SHARE = 0.25, 1.35


class Shown(NamedTuple):
    """The symptoms of a class of faults, one row per size.

    `drift` is the factor on the instrument's real wander, `slowness` that on its latitude nut: full rotor
    speed over the rotor's speed at cruise.
    """

    sizes: Floats
    names: tuple[str, ...]
    idle_inhg: Floats
    cruise_inhg: Floats
    run_down_min: Floats
    drift: Floats
    slowness: Floats


def _seen(system: SuctionSystem, fault: str, size: float) -> tuple[float, ...]:
    faults = with_fault(HEALTHY, fault, size) if fault else HEALTHY
    rotor = Rotor()
    idle, cruise = (
        settle_suction(
            rpm,
            0.0,
            system,
            rotor,
            faults,
        )
        for rpm in (IDLE_RPM, CRUISE_RPM)
    )
    speed = cruise.rotor_rad_s
    slowness = rotor.full_speed_rad_s / speed if speed > 0.0 else NEVER
    return (
        idle.gauge_pa / INHG_PA,
        cruise.gauge_pa / INHG_PA,
        run_down_s(speed, 1.0, faults.bearings_worn, rotor) / 60.0,
        slowness * wear_factor(faults.bearings_worn, rotor),
        slowness,
    )


def sizes_of(fault: str) -> Floats:
    """Sizes of a fault from barely visible to severe."""
    own = FAULTS[fault]
    largest = min(own.default_size * LARGEST_SHARE, own.greatest_size * 0.999)
    if fault == "filter":
        # A filter has no effect until it is nearly closed: sizes by the area left open.
        return np.asarray(1.0 - np.geomspace(0.6, 1.0 - largest, SIZES))
    return np.linspace(own.default_size * SMALLEST_SHARE, largest, SIZES)


def shown(aircraft: Aircraft, fault: FaultClass) -> Shown:
    """The symptoms of a class in this aircraft, with its gauge tap and its regulator."""
    return _shown(suction_system_of(aircraft), fault)


@lru_cache(maxsize=512)
def _shown(system: SuctionSystem, fault: FaultClass) -> Shown:
    kinds = [(name, float(size)) for name in CLASSES[fault] for size in sizes_of(name)] or [("", 0.0)]
    table = np.array([_seen(system, name, size) for name, size in kinds])
    names, sizes = zip(*kinds, strict=True)
    return Shown(np.array(sizes), names, *(np.ascontiguousarray(column) for column in table.T))


PRIOR: dict[FaultClass, float] = {
    "healthy": 0.75,
    "low_flow": 0.06,
    "regulator": 0.04,
    "filter": 0.05,
    "bearings": 0.06,
    "balance": 0.04,
}
# A gauge is read to a tenth, and is itself off by about as much; a stopwatch and the engine's warmth.
GAUGE_SD_INHG = 0.2
RUN_DOWN_SD = 0.1
# How the instrument's own wander at full speed scatters, and that of a balance set for another latitude.
OWN_SD_DEG_15MIN = 1.0
# For readings that no class predicts.
ANY_SHARE, ANY_SD_DEG_15MIN = 0.1, 8.0
# Grossly wrong readings carry no information; the median of several hardly ever is wrong.
WRONG_SHARE, WRONG_SHARE_OF_SEVERAL = 0.03, 0.001
SEVERAL = 3
WORDS: dict[FaultClass, str] = {
    "healthy": "These observations show no fault.",
    "low_flow": (
        "Too little air: a weak pump or a leak beyond the instruments. At the gauge they look alike; "
        "pinching off the hose before the instruments tells them apart: with a leak the gauge recovers."
    ),
    "regulator": "The regulator opens too early: the gauge reads low at every power above idle.",
    "filter": "The central filter is clogged: little air comes through, however hard the pump sucks.",
    "bearings": "The rotor's bearings are worn: it runs down too fast, and drifts more than it should.",
    "balance": (
        "Suction and spin-down are normal, but the card drifts: its latitude nut is set for another "
        "latitude, or the gyro is out of balance. Only opening it can tell which."
    ),
}


class Readings(NamedTuple):
    """Medians of the last readings, nan if there are none, and the number of readings of each."""

    idle_inhg: float
    cruise_inhg: float
    run_down_min: float
    counts: tuple[int, ...] = (1, 1, 1)


LATEST = 12


def readings_of(log: Log) -> Readings:
    """The medians of the last readings of each kind, since the last maintenance."""
    since_s = max((event.time_s for event in log.events), default=-math.inf)
    if log.checks and log.checks[-1].time_s < since_s:
        since_s = -math.inf
    lately = [check for check in log.checks if check.time_s >= since_s]
    read = ([getattr(check, name) for check in lately] for name in NEXT)
    kept = [[value for value in values if math.isfinite(value)][-LATEST:] for values in read]
    idle, cruise, run_down = (float(np.median(values)) if values else math.nan for values in kept)
    return Readings(idle, cruise, run_down, tuple(map(len, kept)))


def _by_reading(table: Shown, read: Readings) -> Floats:
    """How likely the readings are at each size of a class."""
    likelihood = np.ones(len(table.sizes))
    for value, count, expected, sd in (
        (read.idle_inhg, read.counts[0], table.idle_inhg, GAUGE_SD_INHG),
        (read.cruise_inhg, read.counts[1], table.cruise_inhg, GAUGE_SD_INHG),
        (
            read.run_down_min,
            read.counts[2],
            table.run_down_min,
            np.maximum(RUN_DOWN_SD * table.run_down_min, 0.3),
        ),
    ):
        if math.isfinite(value):
            wrong = WRONG_SHARE if count < SEVERAL else WRONG_SHARE_OF_SEVERAL
            good = np.exp(-0.5 * ((value - expected) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
            likelihood = likelihood * ((1.0 - wrong) * good + wrong / 10.0)
    return np.asarray(likelihood)


def expected_wander(
    aircraft: Aircraft, fault: FaultClass, table: Shown, taken: float, wanders: Floats
) -> Floats:
    """Probability of each wander of the grid at each size: (sizes, cells).

    A slow or worn rotor makes more of the instrument's own wander; a slow one more of the balance, too,
    beyond what was taken out for it.
    """
    latitude = aircraft.heading_indicator.balance_latitude_deg
    set_rate = 0.0 if latitude is None else _earth_deg_15min(latitude)
    if fault == "balance":
        # Set for any other latitude, north or south, each alike.
        others = np.array([_earth_deg_15min(degrees) for degrees in np.arange(-75.0, 76.0, 5.0)])
        others = (others - set_rate) * taken
        parts = _normal(wanders, others, np.full(len(others), OWN_SD_DEG_15MIN * taken))
        return np.asarray(parts.mean(axis=0, keepdims=True))
    return _normal(wanders, (table.slowness - taken) * set_rate, OWN_SD_DEG_15MIN * table.drift)


def _earth_deg_15min(latitude_deg: float) -> float:
    return EARTH_RATE_RAD_S * math.sin(latitude_deg * DEG) * 900.0 / DEG


def _normal(wanders: Floats, centre: Floats, spread: Floats) -> Floats:
    z = (wanders[None, :] - centre[:, None]) / spread[:, None]
    mass = np.exp(-0.5 * z * z) / spread[:, None] * filtering.widths(wanders)[None, :]
    return np.asarray(mass / mass.sum(axis=1, keepdims=True))


class Fitted(NamedTuple):
    """Probabilities of the classes and of their sizes."""

    faults: tuple[FaultFit, ...]
    by_size: dict[FaultClass, Floats]

    def probability(self, fault: FaultClass) -> float:
        """Of one class."""
        return next(fit.probability for fit in self.faults if fit.fault == fault)


def _by_readings(aircraft: Aircraft, read: Readings) -> dict[FaultClass, Floats]:
    """The weight of each class and size by gauge and stopwatch alone."""
    electric = aircraft.heading_indicator.drive == "electric"
    tables = {fault: shown(aircraft, fault) for fault in (ELECTRIC if electric else CLASSES)}
    return {
        fault: PRIOR[fault] * _by_reading(table, read) / len(table.sizes) for fault, table in tables.items()
    }


def wander_by_readings(aircraft: Aircraft, read: Readings, taken: float) -> Floats:
    """Probability of each wander of the grid by gauge and stopwatch alone, before any check.

    An instrument whose rotor is slow or worn is expected to drift more; a share may still have anything.
    """
    wanders = filtering.grid()
    mass = np.zeros(len(wanders))
    for fault, weight in _by_readings(aircraft, read).items():
        mass += weight @ expected_wander(aircraft, fault, shown(aircraft, fault), taken, wanders)
    anything = _normal(wanders, np.zeros(1), np.full(1, ANY_SD_DEG_15MIN))[0]
    return np.asarray((1.0 - ANY_SHARE) * mass / mass.sum() + ANY_SHARE * anything)


def fit_faults(aircraft: Aircraft, read: Readings, posterior: Floats, prior: Floats, taken: float) -> Fitted:
    """The classes, the most probable first.

    Args:
        aircraft: whose gauge's tap decides what can be seen.
        read: of gauge and stopwatch.
        posterior: of the wander on the grid, by the checks under `prior`.
        prior: see there.
        taken: the rotor's slowness with which the balance was taken out of the checks.
    """
    wanders = filtering.grid()
    # The evidence of the checks alone, without the prior.
    by_checks = posterior / np.maximum(prior, 1e-300)
    by_checks = by_checks / by_checks.max()
    weights = _by_readings(aircraft, read)
    for fault, weight in weights.items():
        expected = expected_wander(aircraft, fault, shown(aircraft, fault), taken, wanders)
        weights[fault] = weight * (expected @ by_checks)
    total = sum(float(weight.sum()) for weight in weights.values())
    fits = [
        FaultFit(
            fault,
            float(weight.sum()) / total,
            float(shown(aircraft, fault).sizes[int(np.argmax(weight))]) if fault in _SIZED else 0.0,
            WORDS[fault],
        )
        for fault, weight in weights.items()
    ]
    ranked = tuple(sorted(fits, key=lambda one: -one.probability))
    return Fitted(ranked, {fault: weight / total for fault, weight in weights.items()})


_SIZED = frozenset(fault for fault, names in CLASSES.items() if names)


class Observation(NamedTuple):
    """One more thing that could be observed, in words, and the bits by which it would narrow the fault."""

    words: str
    bits: float


NEXT = {
    "idle_inhg": "read the suction gauge at idle",
    "cruise_inhg": "read the suction gauge at cruise power",
    "run_down_min": "time the rotor's spin-down from cruise speed",
}


def worth_observing(aircraft: Aircraft, fitted: Fitted) -> tuple[Observation, ...]:
    """The information of one more observation about the fault, the largest first.

    The expected information between class and reading, by sums over the reading's range.
    """
    found = []
    for name, words in NEXT.items():
        if aircraft.heading_indicator.drive == "electric" and name != "run_down_min":
            continue
        tables = {fault: shown(aircraft, fault) for fault in fitted.by_size}
        top = max(float(getattr(t, name)[getattr(t, name) < 1e3].max(initial=1.0)) for t in tables.values())
        values = np.linspace(0.0, 1.2 * top, 400)
        densities = []
        for fault, weight in fitted.by_size.items():
            expected = getattr(tables[fault], name)
            sd = GAUGE_SD_INHG if name != "run_down_min" else np.maximum(RUN_DOWN_SD * expected, 0.3)
            sd = np.broadcast_to(sd, expected.shape)
            shape = np.exp(-0.5 * ((values[None, :] - expected[:, None]) / sd[:, None]) ** 2) / sd[:, None]
            density = weight @ shape
            if weight.sum() > 0.0 and density.sum() > 0.0:
                densities.append(density / density.sum() * weight.sum())
        table = np.stack(densities)
        table /= table.sum()
        with np.errstate(divide="ignore", invalid="ignore"):
            told = table * np.log2(table / np.outer(table.sum(axis=1), table.sum(axis=0)))
        found.append(Observation(words, float(np.nansum(told))))
    return tuple(sorted(found, key=lambda one: one.bits, reverse=True))
