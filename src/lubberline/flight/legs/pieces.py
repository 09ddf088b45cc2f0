"""The flight so far, and one more leg: its effect on heading, attitude, speed, altitude and engine."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lubberline.arrays import Floats
from lubberline.flight.legs import kinds
from lubberline.flight.legs.file import LegPosition
from lubberline.flight.legs.kinds import Leg
from lubberline.flight.legs.turns import (
    LEAST_RAMP_S,
    Swell,
    accumulated,
    bank_for_rate_rad,
    coordinated_turn,
    flat_turn,
    load_factor,
    ramp_s,
    swell_of_area,
    turn_between_deg,
)
from lubberline.flight.motion import (
    CLIMB_RPM,
    CRUISE_RPM,
    DESCENT_RPM,
    IDLE_RPM,
    STEP_S,
    TAXI_RPM,
    FlightEvent,
)
from lubberline.flight.turbulence import LEVEL_BANK_SD_DEG
from lubberline.units import DEG, FPM_MPS, FT_M, KT_MPS, NM_M, STANDARD_GRAVITY_MPS2

# Taxiing turns are flat, and no faster than this.
TAXI_KT = 30.0
STANDING_KT = 0.01
RATE_ONE_DEG_S = 3.0
TAXI_TURN_DEG_S = 10.0
# Climbs begin and end with this much more or less than one g; a gentle hand, an engineering choice.
CLIMB_ENTRY_G = 0.1
ACCELERATION_G = 0.1
STEEPEST_CLIMB_DEG = 30.0

GREATEST_HOURS = 24
GREATEST_STEPS = round(GREATEST_HOURS * 3600 / STEP_S)

COLUMNS = (
    "heading_rad",
    "pitch_rad",
    "bank_rad",
    "airspeed_mps",
    "altitude_m",
    "climb_mps",
    "engine_rpm",
    "airborne",
    "bank_sd_rad",
    "leg",
)


@dataclass
class Logbook:
    """The flight so far: the state at its end, and the columns of every leg."""

    head: kinds.Head
    heading_deg: float
    airspeed_kt: float
    altitude_ft: float
    bank_sd_deg: float = 0.0
    steps: int = 0
    pieces: list[dict[str, Floats]] = field(default_factory=list)
    events: list[tuple[LegPosition, FlightEvent]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    engine_assumed: bool = False

    def grounded(self, leg: Any) -> bool:
        """Whether a leg is on the ground: as it says, otherwise if below the stall speed."""
        said: bool | None = getattr(leg, "on_ground", None)
        return self.airspeed_kt < self.head.stall_kt if said is None else said

    def room(self, place: LegPosition, steps: int) -> int:
        """The steps of a leg, refused when the flight would pass its greatest length."""
        if self.steps + steps > GREATEST_STEPS:
            raise place.error(
                "",
                f"the flight passes {GREATEST_HOURS} h here",
                f"at most {GREATEST_HOURS} h",
            )
        return max(steps, 1)

    def add(self, place: LegPosition, steps: int, rpm: float, grounded: bool, **changed: Floats) -> None:
        """Write a leg down: the columns it changes, each with steps + 1 values; the others are held."""
        held = {
            "heading_rad": self.heading_deg * DEG,
            "airspeed_mps": self.airspeed_kt * KT_MPS,
            "altitude_m": self.altitude_ft * FT_M,
            "engine_rpm": rpm,
            "airborne": 0.0 if grounded else 1.0,
            "bank_sd_rad": 0.0 if grounded else self.bank_sd_deg * DEG,
            "leg": float(place.number),
        }
        piece = {name: np.full(steps + 1, held.get(name, 0.0)) for name in COLUMNS} | changed
        self.pieces.append({name: values[1 if self.pieces else 0 :] for name, values in piece.items()})
        self.steps += steps

    def columns(self) -> dict[str, Floats]:
        """The whole flight, one value a step."""
        return {name: np.concatenate([piece[name] for piece in self.pieces]) for name in COLUMNS}


def fly_leg(log: Logbook, place: LegPosition, leg: Leg) -> None:
    """Fly one leg from the end of the logbook.

    Raises:
        InputError: when the leg cannot be flown; names the key.
    """
    if isinstance(leg, kinds.Flown):
        log.engine_assumed |= leg.engine_rpm is None
    _FLY[type(leg)](log, place, leg)


def _rpm(leg: kinds.Flown, assumed: float) -> float:
    return assumed if leg.engine_rpm is None else leg.engine_rpm


def _check_speed(log: Logbook, place: LegPosition, key: str, grounded: bool, load: float = 1.0) -> None:
    least = log.head.stall_kt * math.sqrt(load)
    if not grounded and log.airspeed_kt < least:
        raise place.error(
            key,
            f"{log.airspeed_kt:g} kt is below the stall speed of {least:.1f} kt (load factor {load:.2f})",
            "fly faster or bank less" if load > 1.0 else "accelerate first, or write on_ground = true",
        )


def _seconds(leg: kinds.Straight | kinds.Wait) -> float | None:
    return leg.seconds if leg.minutes is None else leg.minutes * 60.0


def _straight(log: Logbook, place: LegPosition, leg: kinds.Straight) -> None:
    grounded = log.grounded(leg)
    _check_speed(log, place, "", grounded)
    seconds = _seconds(leg)
    if leg.distance_nm is not None:
        speed_mps = _groundspeed_mps(log, grounded)
        if speed_mps < STANDING_KT * KT_MPS:
            raise place.error(
                "distance_nm",
                "the aircraft does not move over the ground",
                "give minutes",
            )
        seconds = leg.distance_nm * NM_M / speed_mps
    steps = log.room(place, round((seconds or 0.0) / STEP_S))
    log.add(place, steps, _rpm(leg, TAXI_RPM if grounded else CRUISE_RPM), grounded)


def _groundspeed_mps(log: Logbook, grounded: bool) -> float:
    wind_kt = 0.0 if grounded else log.head.wind_kt or 0.0
    off_nose = ((log.head.wind_from_deg or 0.0) - log.heading_deg) * DEG
    return math.hypot(log.airspeed_kt - wind_kt * math.cos(off_nose), wind_kt * math.sin(off_nose)) * KT_MPS


def _wait(log: Logbook, place: LegPosition, leg: kinds.Wait) -> None:
    if log.airspeed_kt > STANDING_KT:
        raise place.error(
            "", f"the aircraft moves at {log.airspeed_kt:g} kt", "stop first: kind = 'accelerate', to_kt = 0"
        )
    log.add(
        place,
        log.room(place, round((_seconds(leg) or 0.0) / STEP_S)),
        _rpm(leg, IDLE_RPM),
        True,
    )


def _turn(log: Logbook, place: LegPosition, leg: kinds.Turn) -> None:
    grounded = log.grounded(leg)
    by_deg = _turn_by_deg(log, place, leg)
    if grounded:
        if log.airspeed_kt > TAXI_KT:
            raise place.error(
                "on_ground", f"{log.airspeed_kt:g} kt is too fast", f"turn below {TAXI_KT:g} kt"
            )
        if leg.bank_deg is not None:
            raise place.error("bank_deg", "there is no bank on the ground", "give rate_deg_s")
        turn = flat_turn(by_deg * DEG, (leg.rate_deg_s or TAXI_TURN_DEG_S) * DEG)
    else:
        bank_rad = _turn_bank_rad(log, place, leg)
        turn = coordinated_turn(
            by_deg * DEG,
            bank_rad,
            log.airspeed_kt * KT_MPS,
            leg.roll_rate_deg_s * DEG,
        )
    steps = log.room(place, turn.swell.steps)
    heading, bank = turn.fly(log.heading_deg * DEG)
    rpm = _rpm(leg, TAXI_RPM if grounded else CRUISE_RPM)
    log.add(place, steps, rpm, grounded, heading_rad=heading, bank_rad=bank)
    log.heading_deg += by_deg


def _turn_by_deg(log: Logbook, place: LegPosition, leg: kinds.Turn) -> float:
    if leg.by_deg is not None:
        if abs(leg.by_deg) < 0.01:
            raise place.error(
                "by_deg",
                f"{leg.by_deg:g} is not a turn",
                "right positive, left negative",
            )
        return leg.by_deg
    by_deg = turn_between_deg(log.heading_deg, leg.to_deg or 0.0, leg.direction or "shortest")
    if min(abs(by_deg), 360.0 - abs(by_deg)) < 0.01:
        raise place.error(
            "to_deg",
            "the aircraft already points there",
            "for a full turn give by_deg = 360",
        )
    return by_deg


def _turn_bank_rad(log: Logbook, place: LegPosition, leg: kinds.Turn) -> float:
    key, bank_deg = "bank_deg", leg.bank_deg
    if bank_deg is None:
        rate_rad_s = (leg.rate_deg_s or RATE_ONE_DEG_S) * DEG
        key, bank_deg = "rate_deg_s", bank_for_rate_rad(rate_rad_s, log.airspeed_kt * KT_MPS) / DEG
    greatest = log.head.greatest_bank_deg
    if bank_deg > greatest:
        raise place.error(
            key, f"needs {bank_deg:.1f} deg of bank", f"at most greatest_bank_deg = {greatest:g}"
        )
    _check_speed(log, place, key, False, load_factor(bank_deg * DEG))
    return bank_deg * DEG


def _climb(log: Logbook, place: LegPosition, leg: kinds.Climb) -> None:
    if log.grounded(leg):
        raise place.error(
            "",
            f"{log.airspeed_kt:g} kt is not flying speed",
            "accelerate to more than stall_kt first",
        )
    sign = -1.0 if isinstance(leg, kinds.Descend) else 1.0
    by_m = sign * (leg.to_altitude_ft - log.altitude_ft) * FT_M
    if by_m < 0.1:
        side = "below" if sign < 0.0 else "above"
        raise place.error(
            "to_altitude_ft",
            f"{leg.to_altitude_ft:g} ft, from {log.altitude_ft:g} ft",
            f"an altitude {side} that",
        )
    speed_mps = log.airspeed_kt * KT_MPS
    rate_mps = leg.rate_fpm * FPM_MPS
    if rate_mps > speed_mps * math.sin(STEEPEST_CLIMB_DEG * DEG):
        raise place.error(
            "rate_fpm",
            f"steeper than {STEEPEST_CLIMB_DEG:g} deg at {log.airspeed_kt:g} kt",
            "give a lower rate",
        )
    entry = CLIMB_ENTRY_G * STANDARD_GRAVITY_MPS2
    swell = swell_of_area(by_m, rate_mps, lambda rate: ramp_s(rate, entry), lambda rate: rate)
    steps = log.room(place, swell.steps)
    climb = sign * swell.values()
    altitude = log.altitude_ft * FT_M + accumulated(climb)
    altitude[-1] = leg.to_altitude_ft * FT_M
    rpm = _rpm(leg, DESCENT_RPM if sign < 0.0 else CLIMB_RPM)
    pitch = np.arcsin(climb / speed_mps)
    log.add(place, steps, rpm, False, climb_mps=climb, altitude_m=altitude, pitch_rad=pitch)
    log.altitude_ft = leg.to_altitude_ft


def _accelerate(log: Logbook, place: LegPosition, leg: kinds.Accelerate) -> None:
    grounded = log.grounded(leg)
    by_kt = leg.to_kt - log.airspeed_kt
    if abs(by_kt) < STANDING_KT:
        raise place.error(
            "to_kt",
            f"the airspeed is already {log.airspeed_kt:g} kt",
            "give another speed",
        )
    if leg.to_kt > log.head.limit_kt:
        raise place.error(
            "to_kt",
            f"{leg.to_kt:g} is above limit_kt",
            f"at most {log.head.limit_kt:g}",
        )
    if not grounded and min(leg.to_kt, log.airspeed_kt) < log.head.stall_kt:
        raise place.error(
            "to_kt",
            f"{min(leg.to_kt, log.airspeed_kt):g} kt is below the stall speed in the air",
            f"at least {log.head.stall_kt:g}, or on_ground = true for a landing run",
        )
    by_g = (leg.at_g or ACCELERATION_G) * STANDARD_GRAVITY_MPS2
    rate_mps2 = by_g if leg.kt_s is None else leg.kt_s * KT_MPS
    swell = swell_of_area(abs(by_kt) * KT_MPS, rate_mps2, lambda _: LEAST_RAMP_S, lambda rate: rate)
    steps = log.room(place, swell.steps)
    gained = accumulated(math.copysign(1.0, by_kt) * swell.values())
    airspeed = np.maximum(log.airspeed_kt * KT_MPS + gained, 0.0)
    airspeed[-1] = leg.to_kt * KT_MPS
    faster, slower = (CLIMB_RPM, TAXI_RPM) if grounded else (CRUISE_RPM, DESCENT_RPM)
    log.add(
        place,
        steps,
        _rpm(leg, faster if by_kt > 0.0 else slower),
        grounded,
        airspeed_mps=airspeed,
    )
    log.airspeed_kt = leg.to_kt


def _upset(log: Logbook, place: LegPosition, leg: kinds.Upset) -> None:
    if log.grounded(leg):
        raise place.error(
            "",
            f"{log.airspeed_kt:g} kt is not flying speed",
            "accelerate to more than stall_kt first",
        )
    column, key = ("pitch_rad", "pitch_deg") if leg.bank_deg is None else ("bank_rad", "bank_deg")
    peak_rad = (leg.pitch_deg or 0.0 if leg.bank_deg is None else leg.bank_deg) * DEG
    if abs(peak_rad) < DEG:
        raise place.error(key, "less than 1 deg is not an upset", "right or nose up positive")
    ramp_steps = ramp_s(abs(peak_rad), leg.rate_deg_s * DEG) / STEP_S
    steps = log.room(place, math.ceil(2.0 * ramp_steps + leg.hold_seconds / STEP_S))
    attitude = Swell(peak_rad, steps, ramp_steps).values()
    log.add(place, steps, _rpm(leg, CRUISE_RPM), False, **{column: attitude})
    log.notes.append(
        f"Leg {place.number} is an upset: only the attitude changes; the path stays straight and level."
    )


def _event(log: Logbook, place: LegPosition, leg: kinds.Moment, **what: Any) -> None:
    log.events.append(
        (
            place,
            FlightEvent(
                log.steps * STEP_S + leg.after_seconds,
                place.kind,
                **what,
            ),
        )
    )


def _rough(log: Logbook, place: LegPosition, leg: kinds.Rough) -> None:
    log.bank_sd_deg = LEVEL_BANK_SD_DEG[leg.level] if leg.level else leg.bank_sd_deg or 0.0


_FLY: dict[type[Leg], Callable[[Logbook, LegPosition, Any], None]] = {
    kinds.Straight: _straight,
    kinds.Wait: _wait,
    kinds.Turn: _turn,
    kinds.Climb: _climb,
    kinds.Descend: _climb,
    kinds.Accelerate: _accelerate,
    kinds.Upset: _upset,
    kinds.Rough: _rough,
    kinds.Set: lambda log, place, leg: _event(
        log, place, leg, name=leg.from_ or "", misreading_deg=leg.misreading_deg
    ),
    kinds.Fault: lambda log, place, leg: _event(
        log, place, leg, name=leg.name, size=math.nan if leg.size is None else leg.size
    ),
    kinds.Cage: _event,
    kinds.Uncage: _event,
}
