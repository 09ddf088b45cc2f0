"""What each term of the trade comes to along a flight: the quantities of `misconceptions.QUANTITIES`."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lubberline.earth.magnetic import field_along
from lubberline.errors import InputError, nearest_of
from lubberline.simulation.flown import Flown
from lubberline.simulation.ledger import wrap_deg
from lubberline.simulation.panel import ROW_EVERY
from lubberline.units import DEG

Floats = NDArray[np.float64]


def _dip_deg(flown: Flown) -> Floats:
    samples = flown.motion.samples[::ROW_EVERY]
    field = field_along(
        samples["latitude_rad"], samples["longitude_rad"], samples["altitude_m"], flown.motion.decimal_year
    ).samples
    dip: Floats = np.arctan2(field["down_nt"], np.hypot(field["north_nt"], field["east_nt"])) / DEG
    return dip


def _precession_deg(flown: Flown) -> Floats:
    ledger = flown.ledger
    moved: Floats = ledger["friction_deg"] + ledger["balance_deg"] + ledger["levelling_deg"]
    return moved


MEASURES: dict[str, Callable[[Flown], Floats]] = {
    "variation": lambda flown: flown.trace["variation_deg"],
    "deviation": lambda flown: -flown.compass_ledger["deviation_deg"],
    "dip": _dip_deg,
    "magnetic-heading": lambda flown: flown.trace["magnetic_heading_deg"],
    "compass-heading": lambda flown: flown.trace["compass_deg"],
    "turning-error": lambda flown: flown.compass_ledger["turning_deg"],
    "acceleration-error": lambda flown: flown.compass_ledger["acceleration_deg"],
    "apparent-wander": lambda flown: flown.ledger["earth_deg"],
    "transport-wander": lambda flown: flown.ledger["travel_deg"],
    "real-wander": lambda flown: flown.ledger["friction_deg"],
    "precession": _precession_deg,
    "gimballing-error": lambda flown: flown.ledger["geometry_deg"],
    "topple": lambda flown: flown.trace["housing_tilt_deg"],
    "tumbling": lambda flown: flown.ledger["tumble_deg"],
    "gyro-drift": lambda flown: flown.ledger["total_deg"],
    "drift-angle": lambda flown: wrap_deg(flown.trace["track_deg"] - flown.trace["true_heading_deg"]),
}


def measured(quantity: str, flown: Flown) -> Floats:
    """A quantity along a flight, in degrees, one value a second.

    Drifts count from the last setting of the card.

    Args:
        quantity: key of `misconceptions.QUANTITIES`.
        flown: the flight.

    Raises:
        InputError: when there is no such quantity.
    """
    if quantity not in MEASURES:
        raise InputError("quantity", f"there is none '{quantity}'", nearest_of(quantity, [*MEASURES]))
    return MEASURES[quantity](flown)
