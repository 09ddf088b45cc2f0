"""A catalogue whose engine adds up simple sums, so that pages are tested apart from physics."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from lubberline.errors import InputError
from lubberline.flight.motion import Motion, smooth_motion
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.flown import (
    COMPASS_LEDGER_COLUMNS,
    LEDGER_COLUMNS,
    TRACE_COLUMNS,
    Believed,
    Columns,
    Flown,
)
from lubberline.simulation.misconceptions import BY_ID, FLOWN
from lubberline.web.catalogue import Catalogue, Choice

HOSTILE = '<script>alert("x")</script> & "Co"'
SECONDS = 7200


def motion(title: str = "Plain flight") -> Motion:
    """A short motion due east; only its title matters here."""
    still = np.zeros(20)
    samples = smooth_motion(
        latitude_rad=still + 0.8,
        longitude_rad=still,
        altitude_m=still,
        north_mps=still,
        east_mps=still + 50.0,
        down_mps=still,
        airspeed_mps=still + 50.0,
        heading_rad=still + 1.57,
        pitch_rad=still,
        bank_rad=still,
        engine_rpm=still,
    )
    return Motion(samples, datetime(2026, 1, 1, tzinfo=UTC), title)


def columns(names: Sequence[str], given: dict[str, Any], count: int) -> Columns:
    filled = {name: given.get(name, np.zeros(count)) for name in names}
    return Columns({name: np.asarray(column) for name, column in filled.items()})


class PretendEngine:
    """Drifts by 12 deg/h; remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[Any, Any, dict[str, Any]]] = []

    def __call__(self, flight: Any, aircraft: Any = None, **options: Any) -> Flown:
        self.asked.append((flight, aircraft, options))
        if "broken" in options["faults"]:
            raise RuntimeError("inside")
        if any(fault.startswith("gremlin") for fault in options["faults"]):
            raise InputError("--fault", f"there is no fault '{HOSTILE}'", "allowed: pump")
        time_s = np.arange(SECONDS + 1.0)
        earth = -12.0 * time_s / 3600.0
        earth[3333] = -77.0  # one sharp peak that drawing must not lose
        heading = np.full(len(time_s), 90.0)
        event = np.full(len(time_s), "", dtype="<U40")
        event[0], event[1801] = "set at the start", "set from compass"
        trace = columns(
            TRACE_COLUMNS,
            {
                "time_s": time_s,
                "latitude_deg": np.full(len(time_s), 60.0),
                "longitude_deg": time_s / 3600.0,
                "true_heading_deg": heading,
                "magnetic_heading_deg": heading - 4.0,
                "indicated_heading_deg": heading - 4.0 + earth,
                "heading_error_deg": earth,
                "gauge_inhg": np.full(len(time_s), np.nan),
                "event": event,
            },
            len(time_s),
        )
        ledger = columns(
            LEDGER_COLUMNS, {"time_s": time_s, "earth_deg": earth, "total_deg": earth}, len(time_s)
        )
        compass = columns(COMPASS_LEDGER_COLUMNS, {"time_s": time_s}, len(time_s))
        title = flight.title if isinstance(flight, Motion) else Path(flight).stem
        return Flown(
            trace,
            {"heading_indicator": ledger, "compass": compass},
            summary(title),
            motion(title),
            self._believed(options, trace, ledger),
        )

    def _believed(self, options: dict[str, Any], trace: Columns, ledger: Columns) -> tuple[Believed, ...]:
        return tuple(Believed(name, BY_ID[name].statement, trace, ledger) for name in options["believe"])


def summary(title: str) -> dict[str, Any]:
    return {
        "title": HOSTILE if title == "hostile" else title,
        "aircraft": "ZZ-TST",
        "start_utc": "2026-01-01T00:00:00+00:00",
        "duration_min": SECONDS / 60.0,
        "field_model": "WMM2025, 2026.00",
        "seed": 0,
        "sentence": "The card falls by 3.0 deg in 15 min on average: the Earth's turning -3.0.",
        "drift_deg_15min": {"earth_deg": -3.0, "travel_deg": 0.0, "total_deg": -3.0},
        "error_at_end_deg": -24.0,
        "interval_3deg_min": {"shortest": 15.0, "median": 15.0},
        "interval_5deg_min": {"shortest": None, "median": None},
        "notes": ["Heading is taken as track."],
        "warnings": ["Line 7: a silence of 17 min was bridged."],
        "cautions": ["For teaching only."],
    }


def read_flight(name: str, data: bytes, wind: str) -> Motion:
    if not data.strip():
        raise InputError(name, "the file is empty", "give a recorded track")
    return motion(f"{name} {wind}".strip())


def pretend_catalogue(folder: Path) -> Catalogue:
    """Two flights, two aircraft, in files of a temporary folder."""

    def choice(name: str, title: str) -> Choice:
        path = folder / f"{name}.toml"
        path.write_text("", encoding="utf-8")
        return Choice(name, title, "", path)

    return Catalogue(
        flights=(choice("plain", "Plain flight"), choice("hostile", HOSTILE)),
        aircraft=(choice("zz_one", "ZZ-ONE"), choice("zz_two", "ZZ-TWO")),
        faults=FAULTS,
        ideas=tuple(FLOWN),
        fly=PretendEngine(),
        read_flight=read_flight,
    )
