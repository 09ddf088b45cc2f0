"""Angles brought into one turn: in radians for kernels, in degrees for numbers and arrays."""

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel

TURN_RAD = 2.0 * math.pi

Degrees = TypeVar("Degrees", float, NDArray[np.float64])


@kernel
def wrapped_rad(angle_rad: float) -> float:
    """An angle in (-pi, pi]."""
    return angle_rad - TURN_RAD * math.ceil((angle_rad - math.pi) * (1.0 / TURN_RAD))


@kernel
def rose_rad(angle_rad: float) -> float:
    """An angle in [0, 2 pi)."""
    turned = angle_rad - TURN_RAD * math.floor(angle_rad * (1.0 / TURN_RAD))
    # A hair under zero rounds to a whole turn.
    return turned if turned < TURN_RAD else 0.0


def wrapped_deg(angle_deg: Degrees) -> Degrees:
    """Degrees in (-180, 180], of a number or an array."""
    return 180.0 - (180.0 - angle_deg) % 360.0


def rose_deg(angle_deg: Degrees) -> Degrees:
    """Degrees in [0, 360), of a number or an array."""
    turned = angle_deg % 360.0
    # A tiny negative angle comes out of the modulus as 360 itself.
    return turned * (turned < 360.0)
