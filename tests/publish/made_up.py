"""Flights put together by hand from the laws' closed forms, for tests of what is published about them."""

from datetime import UTC, datetime
from typing import Any

import numpy as np

from lubberline.flight.motion import SAMPLE, Motion
from lubberline.simulation.flown import (
    COMPASS_LEDGER_COLUMNS,
    LEDGER_COLUMNS,
    TRACE_COLUMNS,
    Believed,
    Columns,
    Flown,
)

EARTH_DEG_H = 15.041
SENTENCE = (
    "In 15 minutes the heading indicator reads 3.4 degrees less than it should; "
    "most of it is the Earth's turning."
)


def _heading(time_s: np.ndarray, turns: bool) -> np.ndarray:
    if not turns:
        return np.mod(85.0 + 0.0 * time_s, 360.0)
    leg = np.floor(time_s / 420.0)
    into = np.clip((time_s - 420.0 * leg) / 40.0, 0.0, 1.0)
    return np.mod(300.0 + 95.0 * (leg + into - 1.0) + 1.5 * np.sin(time_s / 11.0), 360.0)


def _since_set(time_s: np.ndarray, settings_s: list[float]) -> np.ndarray:
    starts = np.asarray(settings_s)
    return time_s - starts[np.searchsorted(starts, time_s, side="right") - 1]


def _ledger(
    time_s: np.ndarray,
    trace: dict[str, np.ndarray],
    settings_s: list[float],
    scale: float,
    tumble_deg: float,
    wrong_deg: list[float],
) -> dict[str, np.ndarray]:
    since = _since_set(time_s, settings_s) / 3600.0
    index = np.searchsorted(np.asarray(settings_s), time_s, side="right") - 1
    ledger = {name: np.zeros(len(time_s)) for name in LEDGER_COLUMNS}
    ledger["time_s"] = time_s
    latitude = np.radians(trace["latitude_deg"])
    ledger["earth_deg"] = -EARTH_DEG_H * np.sin(latitude) * since * scale
    ledger["travel_deg"] = -1.6 * np.tan(latitude) * since * scale
    ledger["friction_deg"] = (6.0 * since + 0.3 * np.sin(6.0 * since)) * scale
    ledger["balance_deg"] = EARTH_DEG_H * np.sin(np.radians(40.0)) * since * scale
    ledger["levelling_deg"] = -0.4 * since * scale
    away = np.radians(trace["true_heading_deg"] - 40.0)
    seen = np.arctan2(np.cos(np.radians(trace["bank_deg"])) * np.sin(away), np.cos(away))
    ledger["geometry_deg"] = (np.degrees(seen - away) + 180.0) % 360.0 - 180.0
    ledger["variation_change_deg"] = 0.8 * since * scale
    ledger["set_deviation_deg"] = -np.asarray(wrong_deg)[index] * 0.7 * scale
    ledger["set_turning_deg"] = np.asarray(wrong_deg)[index] * 0.3 * scale
    if tumble_deg:
        begin = 0.55 * time_s[-1]
        ledger["tumble_deg"] = tumble_deg * np.clip((time_s - begin) / 40.0, 0.0, 1.0)
        later = [s for s in settings_s if s > begin]
        if later:
            ledger["tumble_deg"][time_s >= later[0]] = 0.0
    ledger["total_deg"] = sum(ledger[name] for name in LEDGER_COLUMNS[1:-1])
    return ledger


def _trace(time_s: np.ndarray, latitude_deg: float, turns: bool, seed: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    heading = _heading(time_s, turns)
    track = np.radians(heading)
    north = np.cumsum(np.cos(track)) * 54.0
    east = np.cumsum(np.sin(track)) * 54.0
    rate = np.gradient(np.unwrap(track))
    trace = {name: np.zeros(len(time_s)) for name in TRACE_COLUMNS}
    trace["time_s"] = time_s
    trace["latitude_deg"] = latitude_deg + north / 111_120.0
    trace["longitude_deg"] = -3.0 + east / 111_120.0 / np.cos(np.radians(latitude_deg))
    trace["altitude_m"] = 900.0 + 300.0 * np.sin(time_s / 900.0)
    trace["groundspeed_kt"] = 105.0 + rng.normal(0.0, 0.5, len(time_s))
    trace["track_deg"] = heading
    trace["true_heading_deg"] = heading
    trace["variation_deg"] = np.full(len(time_s), -2.0)
    trace["magnetic_heading_deg"] = np.mod(heading + 2.0, 360.0)
    trace["bank_deg"] = np.degrees(np.arctan(54.0 * rate / 9.80665))
    trace["compass_error_deg"] = 2.0 * np.sin(track) + 1.2 * trace["bank_deg"] * np.cos(track)
    trace["compass_deg"] = np.mod(trace["magnetic_heading_deg"] + trace["compass_error_deg"], 360.0)
    engine = 2350.0 + 50.0 * np.sin(time_s / 300.0)
    trace["engine_rpm"] = engine
    trace["gauge_inhg"] = 5.0 * engine / 2400.0
    trace["instrument_suction_inhg"] = trace["gauge_inhg"] - 0.2
    trace["rotor_rpm"] = 12_400.0 * (1.0 - np.exp(-(time_s + 300.0) / 120.0))
    trace["on_stop"] = np.zeros(len(time_s), dtype=np.bool_)
    trace["caged"] = np.zeros(len(time_s), dtype=np.bool_)
    trace["event"] = np.full(len(time_s), "", dtype="U32")
    return trace


def _summary(flight: dict[str, Any], ledger: dict[str, np.ndarray], error: np.ndarray) -> dict[str, Any]:
    total_s = float(ledger["time_s"][-1])
    worst = int(np.argmax(np.abs(error)))
    drift = {
        name.removesuffix("_deg"): float(np.mean(np.diff(ledger[name][:60])) * 900.0)
        for name in LEDGER_COLUMNS[1:]
    }
    return {
        "title": flight["title"],
        "aircraft": "Demo two-seater, clogging filter",
        "duration_min": total_s / 60.0,
        "start_utc": flight["start"].isoformat(),
        "reference": "magnetic",
        "field_model": "WMM2025",
        "seed": flight["seed"],
        "versions": {"lubberline": "0.1.0", "numpy": np.__version__},
        "drift_deg_15min": drift,
        "interval_3deg_min": {"shortest": 9.2, "median": 14.0} if flight["scale"] > 0.1 else None,
        "interval_5deg_min": {"shortest": 17.5, "median": None} if flight["scale"] > 0.1 else None,
        "worst_error_deg": float(error[worst]),
        "settings": [
            {
                "time_s": time_s,
                "from": "compass" if index else "truth",
                "error_deg": -0.4 * wrong * flight["scale"],
                "deviation_deg": -0.7 * wrong * flight["scale"],
                "turning_deg": 0.3 * wrong * flight["scale"],
                "acceleration_deg": 0.0,
                "misreading_deg": 0.0,
            }
            for index, (time_s, wrong) in enumerate(zip(flight["settings_s"], flight["wrong"], strict=True))
        ],
        "sparse_share": 0.0,
        "slow_share": 0.04,
        "sentence": flight["sentence"],
        "notes": list(flight["notes"]),
        "warnings": list(flight["warnings"]),
        "cautions": ["For teaching only."],
    }


def made_up_flown(
    *,
    minutes: float = 120.0,
    settings_s: list[float] | None = None,
    latitude_deg: float = 52.0,
    scale: float = 1.0,
    tumble_deg: float = 0.0,
    turns: bool = True,
    title: str = "Round trip over the marshes",
    sentence: str = SENTENCE,
    notes: tuple[str, ...] = ("Heading is taken as track, since no wind was given.",),
    warnings: tuple[str, ...] = (),
    events: tuple[tuple[float, str], ...] = (),
    believed: tuple[str, ...] = (),
    seed: int = 7,
) -> Flown:
    """A flight whose ledger sums by construction, with every kind of column in it."""
    time_s = np.arange(0.0, minutes * 60.0 + 0.5)
    settings = settings_s or [0.0]
    wrong = [0.0, *(2.0 + 3.0 * (index % 3) for index in range(len(settings) - 1))]
    trace = _trace(time_s, latitude_deg, turns, seed)
    for moment_s, words in events:
        trace["event"][round(moment_s)] = words
    ledger = _ledger(time_s, trace, settings, scale, tumble_deg, wrong)
    error = 180.0 - np.mod(180.0 - ledger["total_deg"], 360.0)
    trace["heading_error_deg"] = error
    trace["indicated_heading_deg"] = np.mod(trace["magnetic_heading_deg"] + error, 360.0)
    start = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
    flight = {
        "title": title,
        "start": start,
        "seed": seed,
        "scale": scale,
        "settings_s": settings,
        "wrong": wrong,
        "sentence": sentence,
        "notes": notes,
        "warnings": warnings,
    }
    compass = {name: np.zeros(len(time_s)) for name in COMPASS_LEDGER_COLUMNS}
    compass["time_s"] = time_s
    compass["deviation_deg"] = compass["total_deg"] = trace["compass_error_deg"]
    samples = np.zeros(2, dtype=SAMPLE)
    samples["time_s"] = [0.0, time_s[-1]]
    return Flown(
        trace=Columns(trace),
        ledgers={"heading_indicator": Columns(ledger), "compass": Columns(compass)},
        summary=_summary(flight, ledger, error),
        motion=Motion(samples=samples, start_utc=start, title=title, notes=notes, warnings=warnings),
        believed=tuple(Believed(name, "it is so", Columns(trace), Columns(ledger)) for name in believed),
    )
