"""What suction drives show, healthy or with one fault: worked out once in a process for each case."""

from __future__ import annotations

import math
from functools import cache

from lubberline.instruments.airflow import SuctionSystem
from lubberline.instruments.faults import HEALTHY, with_fault
from lubberline.instruments.rotor import Rotor
from lubberline.instruments.symptoms import Symptoms, symptoms
from lubberline.questions.flights import flown_legs

IDLE_RPM, CRUISE_RPM = 800.0, 2400.0


@cache
def drive(fault: str = "", size: float = math.nan, engine_rpm: float = CRUISE_RPM) -> Symptoms:
    """What a suction drive at sea level shows in steady conditions, by its balance."""
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
