"""Turns: roll in, hold, roll out exactly on the heading; in the air coordinated, on the ground flat."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lubberline.angles import rose_deg
from lubberline.arrays import Floats
from lubberline.flight.motion import STEP_S
from lubberline.units import STANDARD_GRAVITY_MPS2

Flow = Callable[[Floats], Floats]
# No manoeuvre begins or ends faster than this.
LEAST_RAMP_S = 1.0
_BISECTIONS = 60
_MIDPOINTS = (np.arange(64) + 0.5) / 64


def raised(part: Floats) -> Floats:
    """From 0 to 1 as a raised cosine, 1 beyond."""
    return 0.5 - 0.5 * np.cos(np.pi * np.minimum(part, 1.0))


def ramp_s(peak: float, greatest_rate: float) -> float:
    """How long a raised-cosine rise to `peak` takes if it is nowhere steeper than `greatest_rate`."""
    return max(0.5 * math.pi * peak / greatest_rate, LEAST_RAMP_S)


@dataclass(frozen=True)
class Swell:
    """A rise, a hold and a fall over `steps` steps; rise and fall take `ramp_steps` each (a real number)."""

    peak: float
    steps: int
    ramp_steps: float

    def values(self) -> Floats:
        """The quantity at every step, both ends (0) included: shape (steps + 1,)."""
        index = np.arange(self.steps + 1)
        return self.peak * raised(np.minimum(index, self.steps - index) / self.ramp_steps)

    def area(self, flow: Flow) -> float:
        """What `flow` of the quantity adds up to, by the trapezoid rule at the motion's step."""
        rise = min(math.ceil(self.ramp_steps), (self.steps - 1) // 2)
        parts = np.append(np.arange(1, rise + 1), 0.5 * self.steps) / self.ramp_steps
        flows = flow(self.peak * raised(parts))
        return STEP_S * float(2.0 * flows[:-1].sum() + (self.steps - 1 - 2 * rise) * flows[-1])


def swell_of_area(area: float, peak: float, ramp_s_of: Callable[[float], float], flow: Flow) -> Swell:
    """The swell under which `flow` adds up to exactly `area`, up to `peak` and not beyond.

    The peak is held as asked when there is room for it, and rise and fall are made longer by a fraction of
    a step or two; when there is no room, the peak is lowered.

    Args:
        area: what is to be reached, above 0.
        peak: the quantity's greatest value, above 0.
        ramp_s_of: duration of the rise to a given peak.
        flow: what the quantity adds a second; rises with it, 0 at 0.
    """

    def both_ramps(top: float) -> float:
        return 2.0 * ramp_s_of(top) * float(flow(top * raised(_MIDPOINTS)).mean())

    room = area - both_ramps(peak)
    if room > 0.0:
        hold_s = room / float(flow(np.array([peak]))[0])
    else:
        peak = _bisect(lambda top: both_ramps(top) - area, 0.0, peak)
        hold_s = 0.0
    least = ramp_s_of(peak) / STEP_S
    steps = math.ceil(2.0 * least + hold_s / STEP_S)
    if Swell(peak, steps, 0.5 * steps).area(flow) < area:
        least = min(least, 0.5 * steps)
        longer = _bisect(
            lambda ramp: area - Swell(peak, steps, ramp).area(flow),
            0.9 * least,
            0.5 * steps,
        )
        return Swell(peak, steps, longer)
    lower = _bisect(lambda top: Swell(top, steps, 0.5 * steps).area(flow) - area, 0.0, peak)
    return Swell(lower, steps, 0.5 * steps)


def _bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def accumulated(flow: Floats) -> Floats:
    """What a flow sampled every step has added up to, by the trapezoid rule; starts at 0."""
    total = np.zeros(len(flow))
    np.cumsum(0.5 * STEP_S * (flow[1:] + flow[:-1]), out=total[1:])
    return total


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
    right = rose_deg(to_deg - from_deg)
    return right if direction == "right" or (direction == "shortest" and right <= 180.0) else right - 360.0
