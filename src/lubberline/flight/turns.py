"""Turns: roll in, hold, roll out exactly on the heading; in the air coordinated, on the ground flat."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lubberline.flight.motion import Floats
from lubberline.flight.ramps import LEAST_RAMP_S, Swell, accumulated, ramp_s, swell_of_area
from lubberline.units import STANDARD_GRAVITY_MPS2


@dataclass(frozen=True)
class PlannedTurn:
    """A turn fitted to the step of the motion.

    Attributes:
        swell: of the bank (rad) in the air, of the heading rate (rad/s) on the ground.
        by_rad: how far it turns, right positive.
        airspeed_mps: held through the turn; nan on the ground, where speed does not matter.
    """

    swell: Swell
    by_rad: float
    airspeed_mps: float

    def fly(self, heading_rad: float) -> tuple[Floats, Floats]:
        """Heading and bank (rad) at every step, from level on `heading_rad` to level on the new one."""
        shape = self.swell.values()
        sign = math.copysign(1.0, self.by_rad)
        if math.isnan(self.airspeed_mps):
            rate, bank = shape, np.zeros(len(shape))
        else:
            rate, bank = heading_rate_rad_s(shape, self.airspeed_mps), sign * shape
        heading = heading_rad + sign * accumulated(rate)
        heading[-1] = heading_rad + self.by_rad
        return heading, bank


def heading_rate_rad_s(bank_rad: Floats, airspeed_mps: float) -> Floats:
    """Rate of a coordinated level turn, g tan(bank) / V; source: any text on flight mechanics."""
    return np.asarray(STANDARD_GRAVITY_MPS2 * np.tan(bank_rad) / airspeed_mps)


def bank_for_rate_rad(rate_rad_s: float, airspeed_mps: float) -> float:
    """Bank of a coordinated level turn at a given heading rate."""
    return math.atan(rate_rad_s * airspeed_mps / STANDARD_GRAVITY_MPS2)


def load_factor(bank_rad: float) -> float:
    """Load factor of a coordinated level turn, 1 / cos(bank)."""
    return 1.0 / math.cos(bank_rad)


def coordinated_turn(
    by_rad: float, bank_rad: float, airspeed_mps: float, roll_rate_rad_s: float
) -> PlannedTurn:
    """A level turn in the air by an angle at a bank (no sign), rolling at most at `roll_rate_rad_s`."""
    swell = swell_of_area(
        abs(by_rad),
        bank_rad,
        lambda bank: ramp_s(bank, roll_rate_rad_s),
        lambda bank: heading_rate_rad_s(bank, airspeed_mps),
    )
    return PlannedTurn(swell, by_rad, airspeed_mps)


def flat_turn(by_rad: float, rate_rad_s: float) -> PlannedTurn:
    """A turn on the ground by an angle at a heading rate (no sign), without bank."""
    swell = swell_of_area(abs(by_rad), rate_rad_s, lambda _: LEAST_RAMP_S, lambda rate: rate)
    return PlannedTurn(swell, by_rad, math.nan)


def turn_between_deg(from_deg: float, to_deg: float, direction: str) -> float:
    """How far to turn from one heading to another, right positive.

    Args:
        from_deg: where the nose points.
        to_deg: where it is to point.
        direction: 'left', 'right' or 'shortest' (right when both ways are equal).
    """
    right = (to_deg - from_deg) % 360.0
    if direction == "right" or (direction == "shortest" and right <= 180.0):
        return right
    return right - 360.0
