"""A compass card hung along apparent gravity, by vectors: the second way of compass items.

Unlike the formulas with two angles it knows no case: gravity, field and nose are vectors, the card is the
plane square to apparent gravity, and the reading is the angle between the two projections on it.
"""

from __future__ import annotations

import math

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
