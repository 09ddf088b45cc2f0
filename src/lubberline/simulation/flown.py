"""The result of a flight: named columns as arrays, and their summary."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.arrays import Floats
from lubberline.earth.magnetic import field_along
from lubberline.errors import InputError, nearest_of
from lubberline.flight.motion import Motion
from lubberline.instruments.faults import FAULTS
from lubberline.instruments.heading_indicator.card import CAGE, SET
from lubberline.instruments.instrument import Laws
from lubberline.simulation.fitted import instruments
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings
from lubberline.units import DEG, KT_MPS

TRACE_COLUMNS = (
    "time_s",
    "latitude_deg",
    "longitude_deg",
    "altitude_m",
    "groundspeed_kt",
    "track_deg",
    "true_heading_deg",
    "magnetic_heading_deg",
    "variation_deg",
    "pitch_deg",
    "bank_deg",
    "indicated_heading_deg",
    "heading_error_deg",
    "compass_deg",
    "compass_error_deg",
    "gauge_inhg",
    "instrument_suction_inhg",
    "rotor_rpm",
    "engine_rpm",
    "housing_tilt_deg",
    "on_stop",
    "caged",
    "event",
)
LEDGER_COLUMNS = (
    "time_s",
    "earth_deg",
    "travel_deg",
    "friction_deg",
    "balance_deg",
    "levelling_deg",
    "geometry_deg",
    "tumble_deg",
    "variation_change_deg",
    "set_deviation_deg",
    "set_turning_deg",
    "set_acceleration_deg",
    "set_misreading_deg",
    "total_deg",
)
# A cause as people read it, by its column without the unit; 'rest' is what is too small to be drawn.
CAUSE_NAMES = {
    "earth": "apparent wander (Earth rate)",
    "travel": "transport wander",
    "friction": "friction and imbalance",
    "balance": "latitude nut",
    "levelling": "erection",
    "geometry": "gimballing error",
    "tumble": "tumble",
    "variation_change": "change in variation en route",
    "set_deviation": "set with deviation",
    "set_turning": "set while turning",
    "set_acceleration": "set while accelerating",
    "set_misreading": "set: misread",
    "believed": "the wrong idea",
    "rest": "small causes together",
}
COMPASS_LEDGER_COLUMNS = (
    "time_s",
    "deviation_deg",
    "turning_deg",
    "acceleration_deg",
    "lag_deg",
    "total_deg",
)


def cause_name(column: str) -> str:
    """The name of a cause for people, from a ledger's column or its stem; an unknown one as spelt."""
    stem = column.removesuffix("_deg")
    return CAUSE_NAMES.get(stem, stem.replace("_", " "))


class Columns(dict[str, NDArray[Any]]):
    """Named columns of equal length: `columns.heading_error_deg` or `columns["heading_error_deg"]`."""

    def __getattr__(self, name: str) -> NDArray[Any]:
        if name not in self:
            raise AttributeError(f"no column '{name}'; there are: {', '.join(self)}")
        return self[name]

    @property
    def row_count(self) -> int:
        """How many rows each column has."""
        return len(next(iter(self.values())))


@dataclass(frozen=True)
class Believed:
    """The flight as somebody with a wrong idea expects it: trace and ledger."""

    misconception_id: str
    statement: str
    trace: Columns
    ledger: Columns


@dataclass(frozen=True)
class Flown:
    """A flown flight of a panel.

    Attributes:
        trace: the columns of `TRACE_COLUMNS`, one row a second ('event' and flags as arrays too).
        ledgers: each instrument's error split by cause, by its name.
        summary: what `summary.json` holds (plain numbers, strings, lists and dicts).
        motion: the motion flown.
        believed: a trace for each wrong idea that was asked for.
    """

    trace: Columns
    ledgers: Mapping[str, Columns]
    summary: dict[str, Any]
    motion: Motion
    believed: tuple[Believed, ...] = field(default_factory=tuple)

    @property
    def ledger(self) -> Columns:
        """`LEDGER_COLUMNS`; each heading error split by cause, unwrapped."""
        return self.ledgers["heading_indicator"]

    @property
    def compass_ledger(self) -> Columns:
        """`COMPASS_LEDGER_COLUMNS`."""
        return self.ledgers["compass"]


def _events(panel: Panel, readings: Readings, row_count: int) -> NDArray[np.str_]:
    """The events in the second before each row, in words."""
    happened: dict[int, list[str]] = {}

    def note(index: int, words: str) -> None:
        happened.setdefault(min(math.ceil(index / ROW_EVERY), row_count - 1), []).append(words)

    for action in readings.actions:
        if action.kind == SET:
            note(action.index, "set at the start" if action.why == "start" else f"set from {action.source}")
        else:
            note(action.index, "caged" if action.kind == CAGE else "uncaged")
    for event in panel.faults:
        size = FAULTS[event.name].default_size if math.isnan(event.size) else event.size
        note(round(event.time_s * ROW_EVERY), f"fault {event.name}={size:g}")
    for event in panel.motion.events:
        if event.kind == "gap":
            note(round(event.time_s * ROW_EVERY), "gap")
    return np.array(["; ".join(happened.get(row, [])) for row in range(row_count)], dtype=np.str_)


def trace_of(panel: Panel, readings: Readings) -> Columns:
    """The columns of `TRACE_COLUMNS`, one row a second, and those of other instruments before the last."""
    index = panel.row_index
    samples, variation = panel.motion.samples[index], panel.variation_rad[index]
    north, east = samples["north_mps"], samples["east_mps"]
    columns = {
        "time_s": samples["time_s"],
        "latitude_deg": samples["latitude_rad"] / DEG,
        "longitude_deg": wrapped_deg(samples["longitude_rad"] / DEG),
        "altitude_m": samples["altitude_m"],
        "groundspeed_kt": np.hypot(north, east) / KT_MPS,
        "track_deg": rose_deg(np.arctan2(east, north) / DEG),
        "true_heading_deg": rose_deg(samples["heading_rad"] / DEG),
        "magnetic_heading_deg": rose_deg((samples["heading_rad"] - variation) / DEG),
        "variation_deg": wrapped_deg(variation / DEG),
        "pitch_deg": samples["pitch_rad"] / DEG,
        "bank_deg": samples["bank_rad"] / DEG,
        "engine_rpm": samples["engine_rpm"],
    }
    for each in instruments().values():
        columns |= each.columns(panel, readings, index)
    more = [name for name in columns if name not in TRACE_COLUMNS]
    columns["event"] = _events(panel, readings, len(index))
    return Columns({name: columns[name] for name in [*TRACE_COLUMNS[:-1], *more, "event"]})


def ledgers_of(panel: Panel, readings: Readings, laws: Laws) -> dict[str, Columns]:
    """Each instrument's error by cause, one row a second, by its name."""
    found = {
        name: each.ledger(
            panel,
            readings,
            laws,
            panel.row_index,
        )
        for name, each in instruments().items()
    }
    return {name: Columns(columns) for name, columns in found.items() if columns}


def _dip_deg(flown: Flown) -> Floats:
    samples = flown.motion.samples[::ROW_EVERY]
    field = field_along(
        samples["latitude_rad"], samples["longitude_rad"], samples["altitude_m"], flown.motion.decimal_year
    ).samples
    return np.asarray(np.arctan2(field["down_nt"], np.hypot(field["north_nt"], field["east_nt"])) / DEG)


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
    "precession": lambda flown: (
        flown.ledger["friction_deg"] + flown.ledger["balance_deg"] + flown.ledger["levelling_deg"]
    ),
    "gimballing-error": lambda flown: flown.ledger["geometry_deg"],
    "topple": lambda flown: flown.trace["housing_tilt_deg"],
    "tumbling": lambda flown: flown.ledger["tumble_deg"],
    "gyro-drift": lambda flown: flown.ledger["total_deg"],
    "drift-angle": lambda flown: wrapped_deg(flown.trace["track_deg"] - flown.trace["true_heading_deg"]),
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
        raise InputError(
            "quantity",
            f"there is no quantity '{quantity}'",
            nearest_of(quantity, [*MEASURES]),
        )
    return MEASURES[quantity](flown)
