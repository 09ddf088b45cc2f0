"""The trace: what was flown and what was shown, one row a second, and the compass's own ledger."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lubberline.instruments.faults import FAULTS
from lubberline.instruments.heading_indicator import CAGE, SET
from lubberline.simulation.flown import TRACE_COLUMNS, Columns
from lubberline.simulation.ledger import wrap_deg
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings
from lubberline.units import DEG, INHG_PA, KT_MPS, RAD_PER_RPM

Floats = NDArray[np.float64]


def heading_deg(angle_rad: Floats) -> Floats:
    """Headings in 0 <= h < 360 from radians."""
    turned: Floats = (np.asarray(angle_rad) / DEG) % 360.0
    # A tiny negative angle comes out of the modulus as 360 itself.
    turned[turned >= 360.0] = 0.0
    return turned


def _events(panel: Panel, readings: Readings, row_count: int) -> NDArray[np.str_]:
    """What happened in the second before each row, in words."""
    happened: dict[int, list[str]] = {}

    def note(index: int, words: str) -> None:
        row = min(math.ceil(index / ROW_EVERY), row_count - 1)
        happened.setdefault(row, []).append(words)

    for action in readings.actions:
        if action.kind == SET:
            note(action.index, "set at the start" if action.why == "start" else f"set from {action.source}")
        else:
            note(action.index, "caged" if action.kind == CAGE else "uncaged")
    for event in panel.faults:
        fault = FAULTS[event.name]
        size = fault.default_size if math.isnan(event.size) else event.size
        note(round(event.time_s * ROW_EVERY), f"fault {event.name}={size:g}")
    for event in panel.motion.events:
        if event.kind == "gap":
            note(round(event.time_s * ROW_EVERY), "gap")
    return np.array(["; ".join(happened.get(row, [])) for row in range(row_count)], dtype=np.str_)


def trace_of(panel: Panel, readings: Readings) -> Columns:
    """The columns of `TRACE_COLUMNS`, one row a second."""
    rows = readings.rows
    index = np.arange(len(rows)) * ROW_EVERY
    samples, drive = panel.motion.samples[index], panel.drive[index]
    north, east = samples["north_mps"], samples["east_mps"]
    indicated = heading_deg(rows["indicated_rad"])
    compass = heading_deg(readings.compass["reading_rad"][index])
    magnetic = samples["heading_rad"] - panel.variation_rad[index]
    columns = {
        "time_s": samples["time_s"],
        "latitude_deg": samples["latitude_rad"] / DEG,
        "longitude_deg": wrap_deg(samples["longitude_rad"] / DEG),
        "altitude_m": samples["altitude_m"],
        "groundspeed_kt": np.hypot(north, east) / KT_MPS,
        "track_deg": heading_deg(np.arctan2(east, north)),
        "true_heading_deg": heading_deg(samples["heading_rad"]),
        "magnetic_heading_deg": heading_deg(magnetic),
        "variation_deg": wrap_deg(panel.variation_rad[index] / DEG),
        "pitch_deg": samples["pitch_rad"] / DEG,
        "bank_deg": samples["bank_rad"] / DEG,
        "indicated_heading_deg": indicated,
        "heading_error_deg": wrap_deg(indicated - readings.reference_rad[index] / DEG),
        "compass_deg": compass,
        "compass_error_deg": wrap_deg(compass - magnetic / DEG),
        "gauge_inhg": drive["gauge_pa"] / INHG_PA,
        "instrument_suction_inhg": drive["instrument_pa"] / INHG_PA,
        "rotor_rpm": drive["rotor_rad_s"] / RAD_PER_RPM,
        "engine_rpm": samples["engine_rpm"],
        "housing_tilt_deg": rows["tilt_rad"] / DEG,
        "on_stop": rows["on_stop"] != 0.0,
        "caged": rows["caged"] != 0.0,
        "event": _events(panel, readings, len(rows)),
    }
    return Columns({name: columns[name] for name in TRACE_COLUMNS})


def compass_ledger_of(panel: Panel, readings: Readings) -> Columns:
    """The compass's error by cause, one row a second, in degrees."""
    index = np.arange(len(readings.rows)) * ROW_EVERY
    rows = readings.compass[index]
    columns: dict[str, Floats] = {"time_s": panel.motion.samples["time_s"][index]}
    total = np.zeros(len(rows))
    for cause in ("deviation", "turning", "acceleration", "lag"):
        columns[f"{cause}_deg"] = rows[f"{cause}_rad"] / DEG
        total = total + columns[f"{cause}_deg"]
    columns["total_deg"] = total
    return Columns(columns)
