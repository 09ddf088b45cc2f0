"""Second ways to a key that need the engine or vectors: flights, suction drives, a freely hanging card.

Each flight is flown once in a process; none depends on a seed.
"""

import math
from functools import cache

import numpy as np

from lubberline.flight.legs.motion import read_legs_text
from lubberline.instruments.faults import HEALTHY, with_fault
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.flown import Flown
from lubberline.simulation.flying import fly
from lubberline.simulation.symptoms import Symptoms, symptoms

Vector = tuple[float, float, float]


def _dot(one: Vector, other: Vector) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _cross(one: Vector, other: Vector) -> Vector:
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )


def hanging_card_deg(heading_deg: float, bank_deg: float, along_g: float, dip_deg: float) -> float:
    """What a card in equilibrium shows, in a coordinated level turn or in straight acceleration.

    Args:
        heading_deg: magnetic heading of the nose.
        bank_deg: of a coordinated turn, right positive.
        along_g: acceleration along the nose in g, speeding up positive.
        dip_deg: northern positive.
    """
    p, dip = math.radians(heading_deg), math.radians(dip_deg)
    nose = (math.cos(p), math.sin(p), 0.0)
    right = (-math.sin(p), math.cos(p), 0.0)
    # Apparent gravity is gravity less acceleration: in a right turn it leans out of the turn, to the left.
    side = -math.tan(math.radians(bank_deg))
    down = tuple(-along_g * nose[i] + side * right[i] + (1.0 if i == 2 else 0.0) for i in range(3))
    field = (math.cos(dip), 0.0, math.sin(dip))
    size = math.sqrt(_dot(down, down))  # type: ignore[arg-type]
    normal: Vector = (down[0] / size, down[1] / size, down[2] / size)
    along = _dot(field, nose) - _dot(field, normal) * _dot(nose, normal)
    across = _dot(field, _cross(normal, nose))
    return math.degrees(math.atan2(-across, along)) % 360.0


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
# Long enough to read a rate, short enough for the latitude to stay the same.
MINUTES = 6.0
RUNNING = f'kind = "wait"; minutes = {MINUTES}; engine_rpm = 1500'
PERFECT = '[heading_indicator]\ndrive = "electric"\nrandom_wander_deg_15min = 0.0\n'
# Losses of an electric drive's voltage that give rotor speeds from full to less than half.
LOSSES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)


def straight(minutes: float) -> str:
    """A leg straight on."""
    return f'kind = "straight"; minutes = {minutes}'


@cache
def flown_legs(
    latitude_deg: float,
    heading_deg: float,
    airspeed_kt: float,
    legs: tuple[str, ...],
    aircraft: str = PERFECT,
    faults: tuple[str, ...] = (),
    from_compass: bool = False,
) -> Flown:
    """A flight of an aircraft (text of its file) over legs such as `kind = "straight"; minutes = 5`."""
    head = HEAD.format(latitude_deg=latitude_deg, heading_deg=heading_deg, airspeed_kt=airspeed_kt)
    body = "".join("[[leg]]\n" + "\n".join(leg.split("; ")) + "\n" for leg in legs)
    return fly(
        read_legs_text("check", head + body),
        _aircraft(aircraft),
        set_from="compass" if from_compass else "truth",
        true_reference=not from_compass,
        faults=faults,
    )


@cache
def _aircraft(text: str) -> Aircraft:
    return aircraft_from_text("check", text)


@cache
def _turning_deg_h(latitude_deg: float, east_kt: float) -> float:
    leg = f'kind = "straight"; minutes = {MINUTES}' if east_kt else RUNNING
    ledger = flown_legs(latitude_deg, 90.0 if east_kt >= 0.0 else 270.0, abs(east_kt), (leg,)).ledger
    return float(ledger.earth_deg[-1] + ledger.travel_deg[-1]) * 60.0 / MINUTES


@cache
def _torque_table(set_deg: float, real_deg_15min: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Rotor speeds as shares of full speed, rising, and the drift from torques at each, deg/h."""
    aircraft = f"{PERFECT}real_wander_deg_15min = {real_deg_15min}\nbalance_latitude_deg = {set_deg}\n"
    found = []
    for loss in LOSSES:
        flown = flown_legs(0.0, 90.0, 0.0, (RUNNING,), aircraft, (f"supply={loss}@0",) if loss else ())
        late = flown.trace.row_count // 2
        moved = flown.ledger.balance_deg + flown.ledger.friction_deg
        seconds = float(flown.trace.time_s[-1] - flown.trace.time_s[late])
        rate = float(moved[-1] - moved[late]) * 3600.0 / seconds
        found.append((float(np.mean(flown.trace.rotor_rpm[late:])) / FULL_RPM, rate))
    found.sort()
    return tuple(share for share, _ in found), tuple(rate for _, rate in found)


@cache
def torque_deg_h(set_deg: float, real_deg_15min: float, share: float) -> float:
    """Drift from nut and friction in engine flights with slow rotors, at a share of full rotor speed."""
    shares, rates = _torque_table(set_deg, real_deg_15min)
    return float(np.interp(share, shares, rates))


def drift_deg_h(
    latitude_deg: float, east_kt: float, set_deg: float | None = None, share: float = 1.0
) -> float:
    """Drift of a card in engine flights east or west, or standing with the engine running, deg/h.

    Args:
        latitude_deg: north positive.
        east_kt: ground speed to the east; west negative.
        set_deg: latitude of the nut; None without a nut.
        share: rotor speed as a share of full speed.
    """
    torque = torque_deg_h(set_deg, 0.0, share) if set_deg is not None else 0.0
    return _turning_deg_h(latitude_deg, east_kt) + torque


@cache
def _bank_table(bank_deg: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Headings of a steady turn through a full circle and the gimballing error at each."""
    aircraft = f'{PERFECT}setting = "turns_gimbal"\n'
    legs = (f'kind = "turn"; by_deg = 440; bank_deg = {bank_deg}',)
    flown = flown_legs(0.0, 320.0, 120.0, legs, aircraft)
    steady = np.flatnonzero(flown.trace.bank_deg > bank_deg - 0.01)
    headings = np.unwrap(flown.trace.true_heading_deg[steady], period=360.0)
    return tuple(headings.tolist()), tuple(flown.ledger.geometry_deg[steady].tolist())


def bank_error_deg(bank_deg: float, from_axis_deg: float) -> float:
    """Gimballing error in an engine's turn, at an angle from the spin axis (on the card's 360)."""
    headings, errors = _bank_table(bank_deg)
    first = headings[0]
    return float(np.interp(first + (from_axis_deg - first) % 360.0, headings, errors))


def greatest_bank_error_deg(bank_deg: float) -> float:
    """The largest gimballing error in an engine's turn through a full circle."""
    return float(np.abs(_bank_table(bank_deg)[1]).max())


IDLE_RPM, CRUISE_RPM = 800.0, 2400.0


@cache
def drive(fault: str = "", size: float = math.nan, engine_rpm: float = CRUISE_RPM) -> Symptoms:
    """The symptoms of a suction drive at sea level in steady conditions."""
    faults = with_fault(HEALTHY, fault, size) if fault else HEALTHY
    return symptoms(engine_rpm, 0.0, SuctionSystem(), Rotor(), faults)


@cache
def flown_gauge_inhg(fault: str, size: float, tap: str, engine_rpm: float) -> float:
    """What the gauge shows at the end of an engine flight with this fault, by its trace."""
    aircraft = f'[suction]\ngauge_tap = "{tap}"\n'
    leg = f'kind = "wait"; minutes = 1; engine_rpm = {engine_rpm}'
    faults = (f"{fault}={size}@0",) if fault else ()
    return float(flown_legs(0.0, 90.0, 0.0, (leg,), aircraft, faults).trace.gauge_inhg[-1])


@cache
def flown_rotor_rpm(fault: str, size: float, engine_rpm: float) -> float:
    """The rotor's speed at the end of a long engine flight with this fault, by its trace."""
    leg = f'kind = "wait"; minutes = 60; engine_rpm = {engine_rpm}'
    faults = (f"{fault}={size}@0",) if fault else ()
    return float(flown_legs(0.0, 90.0, 0.0, (leg,), "", faults).trace.rotor_rpm[-1])
