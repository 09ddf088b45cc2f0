"""The result of a flight: named columns as arrays, and what they add up to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from numpy.typing import NDArray

from lubberline.flight.motion import Motion

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
COMPASS_LEDGER_COLUMNS = (
    "time_s",
    "deviation_deg",
    "turning_deg",
    "acceleration_deg",
    "lag_deg",
    "total_deg",
)


class Columns(Mapping[str, NDArray[Any]]):
    """Named columns of equal length: `columns.heading_error_deg` or `columns["heading_error_deg"]`."""

    def __init__(self, columns: Mapping[str, NDArray[Any]]) -> None:
        self._columns = dict(columns)

    def __getitem__(self, name: str) -> NDArray[Any]:
        return self._columns[name]

    def __getattr__(self, name: str) -> NDArray[Any]:
        # Looked up by hand: a copy or a pickle asks before the columns are there.
        columns: dict[str, NDArray[Any]] = self.__dict__.get("_columns", {})
        if name not in columns:
            raise AttributeError(f"no column '{name}'; there are: {', '.join(columns)}")
        return columns[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __len__(self) -> int:
        return len(self._columns)

    @property
    def row_count(self) -> int:
        """How many rows each column has."""
        return len(next(iter(self._columns.values())))


@dataclass(frozen=True)
class Believed:
    """The same flight as somebody with a wrong idea expects it: their trace and their ledger."""

    misconception_id: str
    statement: str
    trace: Columns
    ledger: Columns


@dataclass(frozen=True)
class Flown:
    """A flight flown past a panel.

    Attributes:
        trace: the columns of `TRACE_COLUMNS`, one row a second ('event' and flags as arrays too).
        ledger: `LEDGER_COLUMNS`; each heading error split by cause, unwrapped.
        compass_ledger: `COMPASS_LEDGER_COLUMNS`.
        summary: what `summary.json` holds (plain numbers, strings, lists and dicts).
        motion: the motion flown.
        believed: a trace for each wrong idea that was asked for.
    """

    trace: Columns
    ledger: Columns
    compass_ledger: Columns
    summary: dict[str, Any]
    motion: Motion
    believed: tuple[Believed, ...] = field(default_factory=tuple)
