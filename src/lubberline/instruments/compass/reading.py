"""The magnetic compass: its reading, and the ledger of its errors.

Turning and acceleration errors are not put in by rule: they come out of a card that hangs along apparent
gravity and a magnet that seeks the part of the Earth's field in the card's own plane (`compass_card`).

The ledger sets the reading against magnetic heading, and each column is worked out from its own cause:

- *turning*: equilibrium of a card hanging along apparent gravity without the acceleration along the nose,
  less magnetic heading. The forward specific force is then gravity's own share by pitch alone, so a
  coordinated turn is the whole of it, and a steady climb gives nothing. What a card leaning on its tilt limit
  is wrong by stands here too.
- *acceleration*: equilibrium under the full apparent gravity, less the equilibrium above.
- *lag*: the moving card less its equilibrium: inertia, damping, drag of the liquid, lag of the tilt.
- *deviation*: minus the deviation at the compass heading, A + B sin h + C cos h + D sin 2h + E cos 2h.

Source of the deviation formula: NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V.
"""

import math
from typing import Any

import numpy as np

from lubberline.angles import rose_rad, wrapped_rad
from lubberline.compiled import kernel
from lubberline.instruments.compass.card import (
    CompassState,
    at_rest,
    carry,
    in_plane,
    look,
)
from lubberline.units import DEG

COMPASS_ROW = np.dtype(
    [
        ("reading_rad", "f8"),  # in [0, 2 pi)
        # The ledger, each in (-pi, pi]; the sum is reading less magnetic heading, modulo 2 pi.
        ("deviation_rad", "f8"),
        ("turning_rad", "f8"),
        ("acceleration_rad", "f8"),
        ("lag_rad", "f8"),
    ]
)

# Newton's rounds square the error: one more round from this close leaves under 1e-6 rad.
DEVIATION_ROUNDS = 12
DEVIATION_CLOSE_RAD = 1e-3


@kernel
def _magnetic_heading(here: Any, earth: Any) -> float:
    along = here.nose_n * earth.north_nt + here.nose_e * earth.east_nt
    across = here.nose_n * earth.east_nt - here.nose_e * earth.north_nt
    return math.atan2(-across, along)


@kernel
def deviation_and_slope(heading_rad: float, compass: Any) -> tuple[float, float]:
    """Deviation at a compass heading, east positive, and its change with heading.

    A + B sin h + C cos h + D sin 2h + E cos 2h.
    """
    s, c = math.sin(heading_rad), math.cos(heading_rad)
    s2, c2 = 2.0 * s * c, c * c - s * s
    first = compass.b_deg * s + compass.c_deg * c
    second = compass.d_deg * s2 + compass.e_deg * c2
    slope = compass.b_deg * c - compass.c_deg * s + 2.0 * (compass.d_deg * c2 - compass.e_deg * s2)
    return DEG * (compass.a_deg + first + second), DEG * slope


@kernel
def _shown(card_rad: float, compass: Any, laws: Any) -> float:
    """The compass heading h that satisfies h = card - deviation(h), by Newton's rounds.

    One answer exists while deviation changes by less than a degree in a degree.
    """
    factor = laws.compass_deviation
    heading = card_rad
    for _ in range(DEVIATION_ROUNDS):
        deviation, slope = deviation_and_slope(heading, compass)
        excess = heading + factor * deviation - card_rad
        heading -= excess / (1.0 + factor * slope)
        if abs(excess) < DEVIATION_CLOSE_RAD:
            break
    return heading


@kernel
def settle_compass(samples: Any, field: Any, i: int, compass: Any, laws: Any) -> CompassState:
    """The card at rest in its equilibrium at sample i, the liquid turning as it would in the long run."""
    return at_rest(samples[i], look(samples, field, i, compass, laws), compass, laws)


@kernel
def _account(
    state: Any, here: Any, earth: Any, acting: Any, compass: Any, laws: Any
) -> tuple[float, float, float, float, float]:
    along, across = in_plane(acting[0], acting[2])
    side_rad = math.atan2(-across, along)
    along, across = in_plane(acting[1], acting[2])
    full_rad = math.atan2(-across, along)
    shown = _shown(state.card_rad, compass, laws)
    return (
        rose_rad(shown),
        wrapped_rad(shown - state.card_rad),
        wrapped_rad(side_rad - _magnetic_heading(here, earth)),
        wrapped_rad(full_rad - side_rad),
        wrapped_rad(state.card_rad - full_rad),
    )


@kernel
def carry_compass(
    state: CompassState, samples: Any, field: Any, compass: Any, laws: Any, rows: Any
) -> CompassState:
    """Carry a card from the first sample to the last, filling a row for each.

    Args:
        state: the card at the first sample.
        samples: `SAMPLE` records of `flight.motion`, shape (n,).
        field: `FIELD_SAMPLE` records of `earth.magnetic`, shape (n,).
        compass: a `Compass`; every field a float.
        laws: a `CompassLaws`.
        rows: `COMPASS_ROW` records, shape (n,), to be filled.
    """
    acting = look(samples, field, 0, compass, laws)
    for i in range(rows.shape[0]):
        if i > 0:
            coming = look(samples, field, i, compass, laws)
            state = carry(state, samples[i - 1], samples[i], acting, coming, compass, laws)
            acting = coming
        row = rows[i]
        row.reading_rad, row.deviation_rad, row.turning_rad, row.acceleration_rad, row.lag_rad = _account(
            state, samples[i], field[i], acting, compass, laws
        )
    return state
