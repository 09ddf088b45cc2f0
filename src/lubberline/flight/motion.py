"""The smooth motion of an aircraft, made from legs and tracks, along which the panel is flown.

Axes, signs and angles are those of `docs/methods/conventions.md`: level frame north-east-down, body frame
forward-right-down. Arrays are sampled every `STEP_S`.
"""

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import numpy as np

from lubberline.arrays import Bools, Floats, Records
from lubberline.compiled import kernel
from lubberline.earth.geodesy import transport_rate_rad_s
from lubberline.units import STANDARD_GRAVITY_MPS2


@kernel
def put_derived(samples: Any, i: int, before: int, after: int, span_s: float) -> None:
    """Fill what is derived in sample i; rates are differences from sample `before` to `after`.

    Args:
        samples: `flight.motion.SAMPLE` records with position, ground velocity and attitude filled.
        i: the sample to complete.
        before: a sample before it, or itself at a motion's start.
        after: a sample after it, or itself at a motion's end.
        span_s: time between those two.

    Source: Euler's kinematics of heading, pitch and bank; any text on flight mechanics.
    """
    here = samples[i]
    a, b = samples[before], samples[after]
    heading_rate = (b.heading_rad - a.heading_rad) / span_s
    pitch_rate = (b.pitch_rad - a.pitch_rad) / span_s
    bank_rate = (b.bank_rad - a.bank_rad) / span_s
    sh, ch = math.sin(here.heading_rad), math.cos(here.heading_rad)
    sp, cp = math.sin(here.pitch_rad), math.cos(here.pitch_rad)
    sb, cb = math.sin(here.bank_rad), math.cos(here.bank_rad)
    here.roll_rate_rad_s = bank_rate - heading_rate * sp
    here.pitch_rate_rad_s = pitch_rate * cb + heading_rate * cp * sb
    here.yaw_rate_rad_s = -pitch_rate * sb + heading_rate * cp * cb
    here.nose_n, here.nose_e, here.nose_d = cp * ch, cp * sh, -sp
    here.wing_n, here.wing_e, here.wing_d = sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * cp
    here.floor_n, here.floor_e, here.floor_d = cb * sp * ch + sb * sh, cb * sp * sh - sb * ch, cb * cp
    north = (b.north_mps - a.north_mps) / span_s
    east = (b.east_mps - a.east_mps) / span_s
    down = (b.down_mps - a.down_mps) / span_s - STANDARD_GRAVITY_MPS2
    here.force_forward_mps2 = here.nose_n * north + here.nose_e * east + here.nose_d * down
    here.force_right_mps2 = here.wing_n * north + here.wing_e * east + here.wing_d * down
    here.force_down_mps2 = here.floor_n * north + here.floor_e * east + here.floor_d * down
    here.latitude_sin, here.latitude_cos = math.sin(here.latitude_rad), math.cos(here.latitude_rad)
    here.travel_north_rad_s, here.travel_east_rad_s, here.travel_down_rad_s = transport_rate_rad_s(
        here.latitude_rad, here.altitude_m, here.north_mps, here.east_mps
    )


@kernel
def complete(samples: Any, step_s: float) -> None:
    """Fill what is derived in every sample of a whole motion, by central differences."""
    last = samples.shape[0] - 1
    for i in range(last + 1):
        before, after = max(i - 1, 0), min(i + 1, last)
        put_derived(samples, i, before, after, (after - before) * step_s)


Samples = Records

# One step for every flight: within 0.005 deg of the rigid body in turns and rough air.
STEP_S = 0.1

SAMPLE = np.dtype(
    [
        ("time_s", "f8"),
        ("latitude_rad", "f8"),
        ("longitude_rad", "f8"),
        ("altitude_m", "f8"),  # above mean sea level
        ("north_mps", "f8"),  # velocity over the ground
        ("east_mps", "f8"),
        ("down_mps", "f8"),
        ("airspeed_mps", "f8"),  # true airspeed
        ("heading_rad", "f8"),  # true, unwrapped
        ("pitch_rad", "f8"),
        ("bank_rad", "f8"),  # right wing down positive
        # The body's turning against the level frame, in body axes.
        ("roll_rate_rad_s", "f8"),
        ("pitch_rate_rad_s", "f8"),
        ("yaw_rate_rad_s", "f8"),
        # Specific force (acceleration less gravity), in body axes: (0, 0, -g) at rest.
        ("force_forward_mps2", "f8"),
        ("force_right_mps2", "f8"),
        ("force_down_mps2", "f8"),
        # Body axes written in the level frame: nose (forward), wing (right), floor (down).
        ("nose_n", "f8"),
        ("nose_e", "f8"),
        ("nose_d", "f8"),
        ("wing_n", "f8"),
        ("wing_e", "f8"),
        ("wing_d", "f8"),
        ("floor_n", "f8"),
        ("floor_e", "f8"),
        ("floor_d", "f8"),
        # What the kernels would otherwise compute again and again.
        ("latitude_sin", "f8"),
        ("latitude_cos", "f8"),
        # The level frame's turning by travel alone (transport rate), in the level frame.
        ("travel_north_rad_s", "f8"),
        ("travel_east_rad_s", "f8"),
        ("travel_down_rad_s", "f8"),
        ("engine_rpm", "f8"),
    ]
)


@dataclass(frozen=True)
class FlightEvent:
    """An action at a moment of the flight.

    Attributes:
        time_s: since the motion's first sample.
        kind: 'set', 'cage', 'uncage', 'fault' or 'gap'.
        name: for a fault its name; for a set 'compass' or 'truth' ('' = as the command line says).
        size: for a fault its size (nan = the fault's own default).
        misreading_deg: for a set, what the pilot reads too high.
    """

    time_s: float
    kind: str
    name: str = ""
    size: float = float("nan")
    misreading_deg: float = 0.0


@dataclass(frozen=True)
class Motion:
    """A flight as the instruments experience it.

    Attributes:
        samples: one `SAMPLE` record every `STEP_S`, the first at time 0.
        start_utc: when time 0 was; decides the magnetic field.
        title: what to call the flight.
        events: settings, faults and gaps along the way, in order of time.
        warnings: what was assumed about dirty input, each naming its place.
        notes: what holds for the whole flight (heading taken as track, wind, engine speed assumed).
        sparse: per sample, True where the fixes are further apart than a quarter of a turn.
        slow: per sample, True under 20 kt over the ground.
        kind: 'legs' or 'track'.
    """

    samples: Samples
    start_utc: datetime
    title: str
    events: tuple[FlightEvent, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    sparse: Bools = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    slow: Bools = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))
    kind: str = "legs"

    @property
    def duration_s(self) -> float:
        """Time from the first sample to the last."""
        return float(self.samples["time_s"][-1])

    @property
    def decimal_year(self) -> float:
        """The start as a year with its fraction, as field models take it."""
        return decimal_year_of(self.start_utc.astimezone(UTC))


def decimal_year_of(moment: datetime) -> float:
    """A moment in UTC as a year with its fraction."""
    begin, end = (datetime(year, 1, 1, tzinfo=UTC) for year in (moment.year, moment.year + 1))
    return moment.year + (moment - begin) / (end - begin)


def smooth_motion(
    *,
    latitude_rad: Floats,
    longitude_rad: Floats,
    altitude_m: Floats,
    north_mps: Floats,
    east_mps: Floats,
    down_mps: Floats,
    airspeed_mps: Floats,
    heading_rad: Floats,
    pitch_rad: Floats,
    bank_rad: Floats,
    engine_rpm: Floats,
) -> Samples:
    """Samples of a motion from its position, ground velocity, attitude and engine speed.

    All arrays have one value every `STEP_S`; `heading_rad` is true and unwrapped, velocities are over
    the ground. Body rates, specific force, body axes and transport rates are derived from them.
    """
    given = dict(locals())
    samples = np.zeros(len(latitude_rad), dtype=SAMPLE)
    samples["time_s"] = np.arange(len(latitude_rad)) * STEP_S
    for name in SAMPLE.names or ():
        if name in given:
            samples[name] = given[name]
    complete(samples, STEP_S)
    return samples


IDLE_RPM = 800.0
TAXI_RPM = 1000.0
CRUISE_RPM = 2400.0
CLIMB_RPM = 2500.0
DESCENT_RPM = 2000.0
