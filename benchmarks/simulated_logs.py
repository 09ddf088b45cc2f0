"""Aircraft logs simulated by the full engine, with pilots who read, round and now and then err.

Each setting is a separate flight: set by the compass in straight flight, then looked at one to three
times. The estimator's model is not used: drift, compass, suction and rotor come out of `lubberline.fly`.
"""

import math
from dataclasses import dataclass

import msgspec
import numpy as np

from lubberline.flight.legs.motion import read_legs_text
from lubberline.flight.motion import Motion
from lubberline.instruments.faults import HEALTHY, with_fault
from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.rotor import Rotor, wear_factor
from lubberline.simulation.aircraft import (
    Aircraft,
    CompassEntry,
    FaultEntry,
    HeadingIndicatorEntry,
    PilotEntry,
    SuctionEntry,
)
from lubberline.simulation.flying import fly
from lubberline.simulation.symptoms import CRUISE_RPM, IDLE_RPM, symptoms
from lubberline.upkeep.records import Check, Log

LATITUDES_DEG = (-70.0, -55.0, -40.0, -20.0, 0.0, 20.0, 40.0, 50.0, 60.0, 68.0, 75.0, 80.0)
FULL_RPM = 12_000.0
EARTH_DEG_15MIN = 15.041067 / 4.0
# A rotor faster than 12,000 rpm drifts less: 3.3 is 3 at cruise.
LEAST_DRIFT_DEG_15MIN = 3.3
START_S = 1_767_225_600.0
DAY_S = 86_400.0
# How these pilots read: card, compass, gauge and watch. The estimator knows only the misreading.
CARD_SD_DEG, GAUGE_SD_INHG, WATCH_SHARE = 0.7, 0.1, 0.06
FLIGHT = """
title = "simulated"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = {latitude}
longitude_deg = {longitude}
altitude_ft = {altitude}
heading_deg = {heading}
airspeed_kt = {airspeed}
wind_from_deg = {wind_from}
wind_kt = {wind}
[[leg]]
kind = "straight"
minutes = 2
[[leg]]
kind = "set"
[[leg]]
kind = "turn"
by_deg = {turn}
bank_deg = 15
[[leg]]
kind = "straight"
minutes = {minutes}
"""


@dataclass(frozen=True)
class Simulated:
    """A log with the truth behind it.

    Attributes:
        log: as the estimator sees it.
        filed: the aircraft as its file says.
        wander_deg_15min: real wander at the rotor speed at which it was flown.
        fault: the class that was there; 'healthy' for none.
        latitude_deg: where.
    """

    log: Log
    filed: Aircraft
    wander_deg_15min: float
    fault: str
    latitude_deg: float


def aircraft_of(rng: np.random.Generator, tap: str, misreading_deg: float) -> Aircraft:
    """A healthy aircraft, with real wander of either sign, 1 deg in 15 min."""
    balance = [None, 45.0, 60.0, -35.0][rng.integers(4)]
    deviations = rng.normal(0.0, 1.5, 5).round(1)
    return Aircraft(
        name="simulated",
        heading_indicator=HeadingIndicatorEntry(
            setting=["turns_card", "turns_gimbal"][rng.integers(2)],  # type: ignore[arg-type]
            real_wander_deg_15min=float(rng.normal()),
            random_wander_deg_15min=0.3,
            balance_latitude_deg=balance,
            spin_axis_deg=float(rng.uniform(0.0, 359.0)),
        ),
        suction=SuctionEntry(gauge_tap=tap),  # type: ignore[arg-type]
        compass=CompassEntry(*(float(one) for one in deviations)),
        pilot=PilotEntry(misreading_sd_deg=misreading_deg),
    )


def with_trouble(aircraft: Aircraft, fault: str, rng: np.random.Generator) -> Aircraft:
    """The aircraft as it really is."""
    if fault == "healthy":
        return aircraft
    if fault == "balance":
        own = aircraft.heading_indicator
        filed = own.balance_latitude_deg
        # As after a ferry flight: set for a place that is not the file's, so far that the card drifts beyond
        # the usual allowance; nearer ones are no fault.
        while True:
            other = float(rng.uniform(-70.0, 70.0))
            apart = math.sin(math.radians(other)) - math.sin(math.radians(filed or 0.0))
            if abs(own.real_wander_deg_15min + EARTH_DEG_15MIN * apart) > LEAST_DRIFT_DEG_15MIN:
                break
        entry = msgspec.structs.replace(own, balance_latitude_deg=other)
        return msgspec.structs.replace(aircraft, heading_indicator=entry)
    name = ["pump", "leak"][rng.integers(2)] if fault == "low_flow" else fault
    sizes = {"pump": (0.35, 0.6), "leak": (0.2, 0.35), "regulator": (1.0, 2.0), "filter": (0.8, 0.92)}
    low, high = sizes.get(name, (0.7, 1.2))
    entry_of = FaultEntry(name=name, size=float(rng.uniform(low, high)))
    return msgspec.structs.replace(aircraft, fault=(entry_of,))


def simulated(
    seed: int,
    fault: str = "healthy",
    *,
    checks: int | None = None,
    latitude_deg: float | None = None,
    wrong_share: float = 0.0,
    gauges: bool = True,
) -> Simulated:
    """A log.

    Args:
        seed: decides everything.
        fault: a class of `upkeep.symptom_table.CLASSES`.
        checks: how many; 10 to 60 without it.
        latitude_deg: one of the list without it.
        wrong_share: of entries whose indicator or compass is grossly wrong.
        gauges: whether gauge at idle and cruise and the spin-down are logged.
    """
    rng = np.random.default_rng(seed)
    wanted = int(rng.integers(10, 61)) if checks is None else checks
    latitude = float(rng.choice(LATITUDES_DEG)) if latitude_deg is None else latitude_deg
    misreading_deg = float(rng.uniform(0.8, 1.8))
    filed = aircraft_of(rng, ["cabin", "instruments"][rng.integers(2)], misreading_deg)
    real = with_trouble(filed, fault, rng)
    found: list[Check] = []
    rpm: list[float] = []
    day_s = START_S
    while len(found) < wanted:
        day_s += float(rng.uniform(1.0, 8.0)) * DAY_S
        flight = _flight(rng, latitude)
        flown = fly(flight, real, seed=int(rng.integers(2**31)), set_from="compass")
        rpm.append(float(np.median(flown.trace.rotor_rpm)))
        found += _looked(flown.trace, rng, real, misreading_deg, day_s, len(found), wanted, wrong_share)
    found = _with_gauges(found, real, rng) if gauges else [_without_gauge(check) for check in found]
    return Simulated(Log("simulated", tuple(found), (), ()), filed, _truth(real, filed, rpm), fault, latitude)


def _truth(real: Aircraft, filed: Aircraft, rpm: list[float]) -> float:
    """Drift in 15 min from Earth, travel and the latitude nut of the file at a healthy rotor's speed.

    A slow rotor makes more of the wander and of the balance, and worn bearings more of the wander; a balance
    set for another latitude is wander to somebody who believes the file.
    """
    slow = FULL_RPM / float(np.median(rpm))
    own = real.heading_indicator.real_wander_deg_15min
    own *= slow * wear_factor(real.faults_at_start().bearings_worn, Rotor())
    healthy = symptoms(CRUISE_RPM, 0.0, suction_system_of(filed), Rotor(), HEALTHY).rotor_rpm
    return own + _balance(real) * slow - _balance(filed) * FULL_RPM / healthy


def _balance(aircraft: Aircraft) -> float:
    latitude = aircraft.heading_indicator.balance_latitude_deg
    return 0.0 if latitude is None else EARTH_DEG_15MIN * math.sin(math.radians(latitude))


def _flight(rng: np.random.Generator, latitude: float) -> Motion:
    turn = float(rng.uniform(20.0, 340.0))
    return read_legs_text(
        "simulated.toml",
        FLIGHT.format(
            latitude=latitude,
            longitude=float(rng.uniform(-20.0, 30.0)),
            altitude=int(rng.uniform(1000, 6000)),
            heading=int(rng.uniform(0, 359)),
            airspeed=int(rng.uniform(80, 130)),
            wind_from=int(rng.uniform(0, 359)),
            wind=int(rng.uniform(0, 25)),
            turn=turn,
            minutes=float(rng.uniform(12.0, 50.0)),
        ),
    )


def _looked(trace, rng, real, misreading_deg, day_s, done, wanted, wrong_share) -> list[Check]:  # type: ignore[no-untyped-def]
    """One to three checks of one flight, straight and level, as written down."""
    time_s = trace.time_s
    at = next(k for k in range(1, len(time_s)) if trace.event[k].startswith("set"))
    last = len(time_s) - 1
    first = next(k for k in range(last, 0, -1) if abs(trace.bank_deg[k]) > 1.0) + 90
    if first >= last:
        return []
    looks = sorted(rng.integers(first, last + 1, int(rng.integers(1, 4))))
    found = []
    for k in dict.fromkeys(int(one) for one in looks):
        if done + len(found) >= wanted:
            break
        way = slice(at, k + 1)
        track = math.radians(1.0) * trace.track_deg[way]
        north = float(np.mean(trace.groundspeed_kt[way] * np.cos(track)))
        east = float(np.mean(trace.groundspeed_kt[way] * np.sin(track)))
        indicated = round(float(trace.indicated_heading_deg[k] + rng.normal(0.0, CARD_SD_DEG)))
        compass = round(float(trace.compass_deg[k] + rng.normal(0.0, misreading_deg)))
        if rng.random() < wrong_share:
            slip = float(rng.choice([-100, -30, -20, -10, 10, 20, 30, 100]))
            indicated, compass = (
                (indicated + slip, compass) if rng.random() < 0.5 else (indicated, compass + slip)
            )
        found.append(
            Check(
                row=done + len(found) + 2,
                time_s=day_s + float(time_s[k]),
                latitude_deg=float(trace.latitude_deg[k]),
                longitude_deg=float(trace.longitude_deg[k]),
                indicated_deg=float(indicated % 360),
                compass_deg=float(compass % 360),
                set_s=day_s + float(time_s[at]),
                set_compass_deg=float(round(float(trace.compass_deg[at])) % 360),
                groundspeed_kt=round(math.hypot(north, east)),
                track_deg=round(math.degrees(math.atan2(east, north))) % 360.0,
                idle_inhg=math.nan,
                cruise_inhg=float(trace.gauge_inhg[k]),
                run_down_min=math.nan,
                typed={},
            )
        )
    return found


def _without_gauge(check: Check) -> Check:
    return msgspec.structs.replace(check, cruise_inhg=math.nan)


def _with_gauges(found: list[Check], real: Aircraft, rng: np.random.Generator) -> list[Check]:
    """Suction as read to a tenth, and every fourth time a spin-down."""
    faults = HEALTHY
    for entry in real.fault:
        faults = with_fault(faults, entry.name, entry.size if entry.size is not None else math.nan)
    system = suction_system_of(real)
    idle = symptoms(IDLE_RPM, 300.0, system, Rotor(), faults)
    cruise = symptoms(2400.0, 300.0, system, Rotor(), faults)
    gauge = idle.cabin_gauge_inhg if real.suction.gauge_tap == "cabin" else idle.instrument_gauge_inhg
    read = []
    for k, check in enumerate(found):
        read.append(
            msgspec.structs.replace(
                check,
                idle_inhg=round(max(gauge + rng.normal(0.0, GAUGE_SD_INHG), 0.0), 1)
                if k % 2 == 0
                else math.nan,
                cruise_inhg=round(check.cruise_inhg + rng.normal(0.0, GAUGE_SD_INHG), 1),
                run_down_min=round(cruise.run_down_min * (1.0 + WATCH_SHARE * rng.normal()), 1)
                if k % 4 == 0
                else math.nan,
            )
        )
    return read
