"""Second ways that need the engine or vectors, under any belief: rates, flights, a freely hanging card.

Each is worked out once in a process; none depends on a seed.
"""

import math
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import NamedTuple

from lubberline.earth.geodesy import transport_rate_rad_s
from lubberline.flight.legs.motion import read_legs_text
from lubberline.instruments.compass.card import CompassLaws
from lubberline.instruments.faults import HEALTHY, with_fault
from lubberline.instruments.heading_indicator.averaged import precession
from lubberline.instruments.heading_indicator.card import outer_of_axis_rad
from lubberline.instruments.heading_indicator.gyro import (
    Gyro,
    GyroLaws,
    balance_torque_nm,
    wander_torque_nm,
)
from lubberline.instruments.heading_indicator.torques import Moment, believed_travel_rad_s, earth_down_rad_s
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.rotor import Rotor, rotor_step
from lubberline.questions.belief import TRUTH, Belief
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.flown import Columns, ledgers_of, trace_of
from lubberline.simulation.flying import prepare_flight
from lubberline.simulation.panel import read
from lubberline.simulation.symptoms import Symptoms, symptoms
from lubberline.units import DEG, EARTH_RATE_RAD_S, HOUR_S, KT_MPS, RAD_PER_RPM

Vector = tuple[float, float, float]
GYRO, COMPASS = GyroLaws(), CompassLaws()


def _dot(one: Vector, other: Vector) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _cross(one: Vector, other: Vector) -> Vector:
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )


def hanging_card_deg(
    heading_deg: float, bank_deg: float, along_g: float, dip_deg: float, believed: Belief = TRUTH
) -> float:
    """What a card in equilibrium shows, in a coordinated level turn or in straight acceleration.

    Args:
        heading_deg: magnetic heading of the nose.
        bank_deg: of a coordinated turn, right positive.
        along_g: acceleration along the nose in g, speeding up positive.
        dip_deg: northern positive.
        believed: of a student.
    """
    laws = believed.laws(COMPASS)
    p = math.radians(heading_deg)
    dip = math.radians(abs(dip_deg) if laws.compass_northern_everywhere else dip_deg)
    nose = (math.cos(p), math.sin(p), 0.0)
    right = (-math.sin(p), math.cos(p), 0.0)
    # Apparent gravity is gravity less acceleration: in a right turn it leans out of the turn, to the left.
    side = -laws.compass_turning * math.tan(math.radians(bank_deg))
    back = -laws.compass_acceleration * along_g
    if laws.compass_by_latitude and bank_deg:
        # In a dipole's field, tan(dip) = 2 tan(latitude), this lean gives the latitude.
        side = -math.copysign(math.tan(math.asin(0.5)), bank_deg)
    if laws.compass_swapped:
        back, side = side, back
    down = tuple(back * nose[i] + side * right[i] + (1.0 if i == 2 else 0.0) for i in range(3))
    field = (math.cos(dip), 0.0, math.sin(dip))
    size = math.sqrt(_dot(down, down))  # type: ignore[arg-type]
    normal: Vector = (down[0] / size, down[1] / size, down[2] / size)
    along = _dot(field, nose) - _dot(field, normal) * _dot(nose, normal)
    across = _dot(field, _cross(normal, nose))
    return math.degrees(math.atan2(-across, along)) % 360.0


class Rates(NamedTuple):
    """What moves a level card, each in degrees an hour, positive rising."""

    earth_deg_h: float
    travel_deg_h: float
    friction_deg_h: float
    nut_deg_h: float

    @property
    def total_deg_h(self) -> float:
        """All together."""
        return sum(self)


@cache
def rates(
    latitude_deg: float,
    east_kt: float = 0.0,
    north_kt: float = 0.0,
    *,
    set_deg: float | None = None,
    real_deg_15min: float = 0.0,
    share: float = 1.0,
    believed: Belief = TRUTH,
) -> Rates:
    """The engine's precession of a gyro that is level and points north: what each law moves its card by.

    Args:
        latitude_deg: north positive.
        east_kt: ground speed to the east; west negative.
        north_kt: ground speed to the north.
        set_deg: latitude of the nut; None without a nut.
        real_deg_15min: real wander at full rotor speed.
        share: rotor speed as a share of full speed.
        believed: of a student; the laws of it run.
    """
    latitude, laws, plain = latitude_deg * DEG, believed.laws(GYRO), Gyro()
    sine, cosine = math.sin(latitude), math.cos(latitude)
    north, east, down = transport_rate_rad_s(latitude, 0.0, north_kt * KT_MPS, east_kt * KT_MPS)
    gyro = plain
    if set_deg is not None:
        gyro = plain._replace(balance_nm=balance_torque_nm(set_deg, plain.full_momentum_nms))
    moving = east_kt != 0.0 or north_kt != 0.0
    earth_down = earth_down_rad_s(sine, cosine, moving, laws)
    travel_down = believed_travel_rad_s(north, east, down, sine, cosine, laws)
    at_rest = dict.fromkeys(Moment._fields, 0.0)
    moment = Moment(
        **at_rest
        | {
            "nose_n": 1.0,
            "wing_e": 1.0,
            "floor_d": 1.0,
            "roll_rad_s": EARTH_RATE_RAD_S * cosine + north,
            "pitch_rad_s": east,
            "yaw_rad_s": earth_down + travel_down,
            "gravity_down_g": 1.0,
            "earth_north_rad_s": EARTH_RATE_RAD_S * cosine,
            "earth_down_rad_s": earth_down,
            "travel_north_rad_s": north,
            "travel_east_rad_s": east,
            "travel_down_rad_s": travel_down,
            "latitude_sin": sine,
            "momentum_nms": share * plain.full_momentum_nms,
            "wear_factor": 1.0,
            "wander_nm": wander_torque_nm(real_deg_15min, plain.full_momentum_nms),
            "friction_rate_rad_s": plain.shaken_rate_rad_s,
        }
    )
    found = precession(1.0, 0.0, 0.0, 0.0, moment, gyro, laws)
    per_hour = HOUR_S / DEG
    return Rates(
        found.earth_rad_s * per_hour,
        found.travel_rad_s * per_hour,
        found.friction_rad_s * per_hour,
        found.balance_rad_s * per_hour,
    )


@cache
def latitude_of_rate(rate_deg_h: float, believed: Belief) -> float:
    """Where a student expects the rate: the latitude at which the believed rate comes nearest to it."""
    found, step = 0.0, 1.0
    while step > 0.01:
        places = (
            [found + step * k for k in range(-89, 90)] if step == 1.0 else [found - step, found, found + step]
        )
        found = min(places, key=lambda place: abs(rates(place, believed=believed).earth_deg_h - rate_deg_h))
        step *= 0.5
    return found


HEAD = """
title = "a check"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = {latitude_deg}
longitude_deg = 10.0
altitude_ft = 0
heading_deg = {heading_deg}
airspeed_kt = {airspeed_kt}
limit_kt = 600
"""
FULL_RPM = 12000.0
PERFECT = '[heading_indicator]\ndrive = "electric"\nrandom_wander_deg_15min = 0.0\n'


def straight(minutes: float) -> str:
    """A leg straight on."""
    return f'kind = "straight"; minutes = {minutes}'


class Flight(NamedTuple):
    """A flight as a student believes it.

    Attributes:
        trace: what is shown.
        ledgers: of each heading instrument, by name.
    """

    trace: Columns
    ledgers: Mapping[str, Columns]

    @property
    def ledger(self) -> Columns:
        """Of the heading indicator."""
        return self.ledgers["heading_indicator"]

    @property
    def compass_ledger(self) -> Columns:
        """Of the compass."""
        return self.ledgers["compass"]


@lru_cache(maxsize=256)
def flown_legs(
    latitude_deg: float,
    heading_deg: float,
    airspeed_kt: float,
    legs: tuple[str, ...],
    aircraft: str = PERFECT,
    faults: tuple[str, ...] = (),
    from_compass: bool = False,
    believed: Belief = TRUTH,
) -> Flight:
    """A flight of an aircraft (text of its file) over legs such as `kind = "straight"; minutes = 5`."""
    head = HEAD.format(latitude_deg=latitude_deg, heading_deg=heading_deg, airspeed_kt=airspeed_kt)
    body = "".join("[[leg]]\n" + "\n".join(leg.split("; ")) + "\n" for leg in legs)
    panel, actions = prepare_flight(
        read_legs_text("check", head + body),
        _aircraft(aircraft),
        set_from="compass" if from_compass else "truth",
        true_reference=not from_compass,
        faults=faults,
    )
    readings = read(panel, actions, believed.flown, 0)
    return Flight(trace_of(panel, readings), ledgers_of(panel, readings, believed.flown))


@cache
def _aircraft(text: str) -> Aircraft:
    return aircraft_from_text("check", text)


class Attitude(NamedTuple):
    """The axes of an aircraft in the level frame, and its angles, as the gimbals meet them."""

    nose_n: float
    nose_e: float
    nose_d: float
    wing_n: float
    wing_e: float
    wing_d: float
    floor_n: float
    floor_e: float
    floor_d: float
    heading_rad: float
    pitch_rad: float
    bank_rad: float


@cache
def attitude(heading_deg: float, pitch_deg: float = 0.0, bank_deg: float = 0.0) -> Attitude:
    """The attitude of these angles."""
    h, p, b = heading_deg * DEG, pitch_deg * DEG, bank_deg * DEG
    sh, ch, sp, cp, sb, cb = math.sin(h), math.cos(h), math.sin(p), math.cos(p), math.sin(b), math.cos(b)
    nose = (cp * ch, cp * sh, -sp)
    wing = (sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * cp)
    floor = (cb * sp * ch + sb * sh, cb * sp * sh - sb * ch, cb * cp)
    return Attitude(*nose, *wing, *floor, h, p, b)


@cache
def gimballing_deg(
    heading_deg: float,
    axis_deg: float = 0.0,
    *,
    bank_deg: float = 0.0,
    pitch_deg: float = 0.0,
    believed: Belief = TRUTH,
) -> float:
    """The error of the engine's card by its gimbals alone, in an attitude, with its axis along a heading."""
    axis, here = axis_deg * DEG, attitude(heading_deg, pitch_deg, bank_deg)
    outer = outer_of_axis_rad(math.cos(axis), math.sin(axis), 0.0, axis, here, believed.laws(GYRO))
    return math.remainder((axis - outer) / DEG - heading_deg, 360.0)


@cache
def greatest_gimballing_deg(bank_deg: float, believed: Belief = TRUTH) -> float:
    """The largest of these errors in a level turn through a full circle."""
    return max(abs(gimballing_deg(float(h), bank_deg=bank_deg, believed=believed)) for h in range(360))


IDLE_RPM, CRUISE_RPM = 800.0, 2400.0


@cache
def drive(fault: str = "", size: float = math.nan, engine_rpm: float = CRUISE_RPM) -> Symptoms:
    """The symptoms of a suction drive at sea level in steady conditions."""
    faults = with_fault(HEALTHY, fault, size) if fault else HEALTHY
    return symptoms(engine_rpm, 0.0, SuctionSystem(), Rotor(), faults)


def _fault(fault: str, size: float | None) -> tuple[str, ...]:
    return (f"{fault}@0" if size is None else f"{fault}={size}@0",) if fault else ()


@cache
def flown_gauge_inhg(fault: str, size: float | None, tap: str, engine_rpm: float) -> float:
    """What the gauge shows at the end of an engine flight with this fault, by its trace."""
    aircraft = f'[suction]\ngauge_tap = "{tap}"\n'
    leg = f'kind = "wait"; minutes = 1; engine_rpm = {engine_rpm}'
    return float(flown_legs(0.0, 90.0, 0.0, (leg,), aircraft, _fault(fault, size)).trace.gauge_inhg[-1])


# At the usual allowance with its rotor at full speed.
AT_THE_LIMIT = "[heading_indicator]\nrandom_wander_deg_15min = 0.0\nreal_wander_deg_15min = 3.0\n"


@cache
def _flown_rotor(fault: str, size: float | None, engine_rpm: float) -> tuple[float, float]:
    """The rotor's speed at the end of a long engine flight with this fault, and its drift in 15 min there."""
    leg = f'kind = "wait"; minutes = 60; engine_rpm = {engine_rpm}'
    flown = flown_legs(0.0, 90.0, 0.0, (leg,), AT_THE_LIMIT, _fault(fault, size))
    moved = flown.ledger.friction_deg
    return float(flown.trace.rotor_rpm[-1]), float(moved[-1] - moved[-301]) * 3.0


@cache
def run_down_by_steps_min(rpm: float, worn: float) -> float:
    """The run-down stepped by the rotor's own step, a second at a time."""
    speed, seconds = rpm * RAD_PER_RPM, 0.0
    while speed > 0.0:
        speed, _ = rotor_step(speed, 0.0, 0.0, 1.0, worn, Rotor(), 1.0)
        seconds += 1.0
    return seconds / 60.0


class FlownSight:
    """The fields of a `Sight` with a fault, each by an engine flight that is flown when it is asked for."""

    def __init__(self, fault: str, size: float | None, tap: str) -> None:
        self.fault, self.size, self.tap = fault, size, tap

    @property
    def gauge_idle_inhg(self) -> float:
        """By the trace at idle."""
        return flown_gauge_inhg(self.fault, self.size, self.tap, IDLE_RPM)

    @property
    def gauge_cruise_inhg(self) -> float:
        """By the trace in cruise."""
        return flown_gauge_inhg(self.fault, self.size, self.tap, CRUISE_RPM)

    @property
    def rotor_idle_rpm(self) -> float:
        """By the trace at idle."""
        return _flown_rotor(self.fault, self.size, IDLE_RPM)[0]

    @property
    def rotor_cruise_rpm(self) -> float:
        """By the trace in cruise."""
        return _flown_rotor(self.fault, self.size, CRUISE_RPM)[0]

    @property
    def drift_idle_deg_15min(self) -> float:
        """By the ledger at idle."""
        return abs(_flown_rotor(self.fault, self.size, IDLE_RPM)[1])

    @property
    def drift_cruise_deg_15min(self) -> float:
        """By the ledger in cruise."""
        return abs(_flown_rotor(self.fault, self.size, CRUISE_RPM)[1])

    @property
    def run_down_min(self) -> float:
        """By the rotor's own steps, from its speed in cruise."""
        size = math.nan if self.size is None else self.size
        worn = with_fault(HEALTHY, self.fault, size).bearings_worn if self.fault == "bearings" else 0.0
        return run_down_by_steps_min(self.rotor_cruise_rpm, worn)


@cache
def flown_sight(fault: str = "", size: float | None = None, tap: str = "cabin") -> FlownSight:
    """What is seen with a fault, by engine flights."""
    return FlownSight(fault, size, tap)
