"""A card whose bank error goes by what it reads: the belief of those who call it an error of quadrants.

The true error goes by the angle to the spin axis, which lies anywhere on a card that the knob turns
alone. Believed is an axis along the card's zero, tilted as the true one.
"""

from __future__ import annotations

import math
from typing import Any

from lubberline.compiled import kernel


@kernel
def axis_by_card(spin_n: float, spin_e: float, knob_rad: float) -> tuple[float, float]:
    """The level parts of a spin axis turned back by the knob, so that the card's zero lies along it."""
    s, c = math.sin(knob_rad), math.cos(knob_rad)
    return c * spin_n + s * spin_e, c * spin_e - s * spin_n


@kernel
def knob_by_quadrant(spin_n: float, spin_e: float, spin_d: float, target_rad: float, here: Any) -> float:
    """The knob's angle at which such a card shows a reading in the attitude of a sample.

    Sought is the azimuth of an axis of this tilt that lies in the plane of the floor axis and the gimbal's
    direction at that reading: flat (v_n cos + v_e sin) + d v_d = 0, v across that plane.
    """
    outer = -target_rad
    s, c = math.sin(outer), math.cos(outer)
    across_n = c * here.wing_n - s * here.nose_n
    across_e = c * here.wing_e - s * here.nose_e
    across_d = c * here.wing_d - s * here.nose_d
    flat = math.hypot(spin_n, spin_e)
    share = -spin_d * across_d / (flat * math.hypot(across_n, across_e))
    middle = math.atan2(across_e, across_n)
    half = math.acos(max(-1.0, min(1.0, share)))
    azimuth = middle - half
    along = math.cos(azimuth) * (c * here.nose_n + s * here.wing_n)
    along += math.sin(azimuth) * (c * here.nose_e + s * here.wing_e)
    along = flat * along + spin_d * (c * here.nose_d + s * here.wing_d)
    if along < 0.0:
        azimuth = middle + half
    return math.atan2(spin_e, spin_n) - azimuth
