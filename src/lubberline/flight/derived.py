"""What follows from position, velocity and attitude: turning, specific force, axes, transport rates.

One kernel serves whole motions and live steering, so that both feel exactly the same.
"""

from __future__ import annotations

import math
from typing import Any

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
    travel_north, travel_east, travel_down = transport_rate_rad_s(
        here.latitude_rad, here.altitude_m, here.north_mps, here.east_mps
    )
    here.travel_north_rad_s = travel_north
    here.travel_east_rad_s = travel_east
    here.travel_down_rad_s = travel_down


@kernel
def complete(samples: Any, step_s: float) -> None:
    """Fill what is derived in every sample of a whole motion, by central differences."""
    last = samples.shape[0] - 1
    for i in range(last + 1):
        before, after = max(i - 1, 0), min(i + 1, last)
        put_derived(samples, i, before, after, (after - before) * step_s)
