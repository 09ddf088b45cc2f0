"""The interface of the engine: from a flight and an aircraft to readings, causes and a summary."""

import math
import os
import re
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.csvfile import number_of
from lubberline.errors import InputError, in_range
from lubberline.flight.flights import parse_wind, read_flight
from lubberline.flight.motion import FlightEvent, Motion
from lubberline.instruments.faults import size_of
from lubberline.instruments.instrument import PHYSICS, Laws
from lubberline.simulation import CAUTIONS
from lubberline.simulation.aircraft import Aircraft, read_aircraft
from lubberline.simulation.fitted import instruments
from lubberline.simulation.flown import Believed, Columns, Flown, cause_name, ledgers_of, trace_of
from lubberline.simulation.heading_indicator.ledger import (
    DRIFT_COLUMNS,
    cards_of,
    ledger_of,
    running_deg,
    set_errors,
    settings_of,
)
from lubberline.simulation.heading_indicator.settings import (
    Action,
    Interval,
    Source,
    actions_of,
    interval,
    straight_rows,
)
from lubberline.simulation.misconceptions import flown_idea
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings, prepare, read
from lubberline.units import DEG

GREATEST_SEED = 2**32 - 1
LEAST_INTERVAL_MIN = 0.5
DAY_MIN = 1440.0


def parse_fault(text: str, where: str = "--fault") -> FlightEvent:
    """A fault written `NAME[=SIZE]@MINUTES`, as filter=0.8@20 or pump@45.

    Raises:
        InputError: when it is written otherwise, unknown, or out of range.
    """
    found = re.fullmatch(r"\s*([a-z_]+)\s*(?:=\s*([0-9.]+))?\s*@\s*([0-9.]+)\s*", text)
    right = "write NAME[=SIZE]@MINUTES, as filter=0.8@20"
    if not found:
        raise InputError(where, f"'{text[:40]}' is not a fault", right)
    size = number_of(found[2], where, right) if found[2] else math.nan
    minutes = number_of(found[3], where, right)
    in_range(where, minutes, 0.0, DAY_MIN, "{:g} minutes is more than a day", right)
    size_of(found[1], size, where=where)
    return FlightEvent(minutes * 60.0, "fault", found[1], size)


def _checked(seed: int, set_every_min: float | None, set_from: str | None) -> None:
    right = "give a whole number from 0 to 4294967295"
    in_range("--seed", seed, 0, GREATEST_SEED, "{} is out of range", right)
    if set_every_min is not None:
        in_range(
            "--set-every",
            set_every_min,
            LEAST_INTERVAL_MIN,
            DAY_MIN,
            right="give 0.5 to 1440 minutes",
        )
    if set_from not in (None, "compass", "truth"):
        raise InputError("--set-from", f"'{set_from}' is not a source", "give compass or truth")


def prepare_flight(
    flight: Motion | str | Path,
    aircraft: Aircraft | str | Path | None = None,
    *,
    set_every_min: float | None = None,
    set_from: Source | None = None,
    true_reference: bool = False,
    wind: str | None = None,
    faults: Sequence[str] = (),
    seed: int = 0,
) -> tuple[Panel, tuple[Action, ...]]:
    """A flight of a panel with its settings, ready to be flown under any laws and seeds.

    Arguments and errors as in `fly`.
    """
    _checked(seed, set_every_min, set_from)
    blowing = parse_wind(wind) if wind else None
    if blowing and isinstance(flight, Motion):
        raise InputError(
            "--wind", "the motion has already been computed", "give the wind when reading the flight's file"
        )
    parsed = tuple(parse_fault(text) for text in faults)
    if aircraft is None:
        aircraft = Aircraft()
    elif not isinstance(aircraft, Aircraft):
        aircraft = read_aircraft(aircraft)
    motion = flight if isinstance(flight, Motion) else read_flight(flight, blowing)
    panel = prepare(motion, aircraft, parsed, true_reference)
    return panel, tuple(actions_of(motion, set_every_min, set_from))


LIMITS_DEG = (3.0, 5.0)
# A twentieth of full speed: below it the gyro no longer controls its own motion.
NO_GYRO_RPM = 600.0


def drift_deg_15min(running: dict[str, Floats], duration_s: float) -> dict[str, float]:
    """Mean drift by cause, in degrees a quarter of an hour; bank and pitch left out."""
    per_quarter = 900.0 / max(duration_s, 1.0)
    drift = {name: float(running[name][-1] - running[name][0]) * per_quarter for name in DRIFT_COLUMNS}
    return {**drift, "total_deg": sum(drift.values())}


def _number(value: float, digits: int) -> float | None:
    # Adding 0.0 turns a negative zero into a positive one.
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def _interval_entry(found: Interval) -> dict[str, float | None]:
    return {
        "shortest": _number(found.shortest_min, 2),
        "median": _number(found.median_min, 2),
        "shortest_from_s": _number(found.shortest_from_s, 1),
    }


def _settings_entry(panel: Panel, readings: Readings, laws: Laws) -> list[dict[str, Any]]:
    errors, cards = set_errors(panel, readings, laws), cards_of(readings)
    entries = []
    for k in settings_of(readings):
        action = readings.actions[k]
        reference = panel.reference_rad[action.index]
        before = wrapped_deg((cards.before["indicated_rad"][k] - reference) / DEG)
        after = wrapped_deg((cards.after["indicated_rad"][k] - reference) / DEG)
        entries.append(
            {
                "time_s": round(float(panel.motion.samples["time_s"][action.index]), 1),
                "from": action.source,
                "why": action.why,
                "error_before_deg": None if k == 0 else _number(before, 2),
                "error_deg": _number(after, 2),
                "deviation_deg": _number(errors["set_deviation_deg"][k], 2),
                "turning_deg": _number(errors["set_turning_deg"][k], 2),
                "acceleration_deg": _number(errors["set_acceleration_deg"][k], 2),
                "misreading_deg": _number(errors["set_misreading_deg"][k], 2),
            }
        )
    return entries


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 10.0 else f"{minutes:.1f} min"


def _lasting(found: Interval, limit_deg: float) -> str:
    if not math.isfinite(found.shortest_min):
        return f"Set correctly, it stays within {limit_deg:g} deg for the whole flight."
    words = (
        f"Set correctly, it exceeds {limit_deg:g} deg after {_minutes(found.shortest_min)} at the earliest"
    )
    if math.isfinite(found.median_min):
        return f"{words} (median {_minutes(found.median_min)})."
    return f"{words}, but most settings last longer than the rest of this flight."


def _stopped_min(trace: Columns) -> float | None:
    """When the rotor was first too slow to hold its direction, in minutes; None when it never was."""
    slow = trace["rotor_rpm"] < NO_GYRO_RPM
    return float(trace["time_s"][int(np.argmax(slow))]) / 60.0 if slow.any() else None


def sentence(drift: dict[str, float], three: Interval, tumbled: bool, stopped_min: float | None) -> str:
    """The flight summed up in a few sentences."""
    causes = sorted(DRIFT_COLUMNS, key=lambda name: -abs(drift[name]))
    side = "high" if drift["total_deg"] > 0.0 else "low"
    total = abs(drift["total_deg"])
    start = f"On average the card drifts {total:.1f} deg {side} in 15 min"
    if total < 0.05:
        start = "Over this flight the card hardly drifts"
    parts = [f"{cause_name(name)} {drift[name]:+.1f}" for name in causes if abs(drift[name]) >= 0.05]
    because = f": {', '.join(parts[:4])}" if parts else ""
    upset = " It tumbled." if tumbled else ""
    if stopped_min is None:
        return f"{start}{because}.{upset} {_lasting(three, LIMITS_DEG[0])}"
    return (
        f"From {_minutes(stopped_min)} on, the rotor is too slow to hold a direction, and the card is "
        f"useless. Before that: {start[0].lower()}{start[1:]}{because}.{upset}"
    )


def summary_of(
    panel: Panel, readings: Readings, laws: Laws, trace: Columns, ledger: Columns, seed: int
) -> dict[str, Any]:
    """The contents of `summary.json`: plain numbers, strings, lists and dicts."""
    running = running_deg(panel, readings)
    time_s = trace["time_s"]
    error = np.sum([*running.values()], axis=0)
    working = trace["rotor_rpm"] >= NO_GYRO_RPM
    straight = straight_rows(panel.motion)[::ROW_EVERY][: len(time_s)] & working
    lasting = [interval(time_s, error, straight, limit) for limit in LIMITS_DEG]
    # A stopped rotor is not a gyro: its card spins or stands still, and a mean drift would be meaningless.
    last = len(time_s) - 1 if working.all() else max(int(np.argmin(working)) - 1, 0)
    drift = drift_deg_15min(
        {name: column[: last + 1] for name, column in running.items()}, float(time_s[last])
    )
    worst = int(np.argmax(np.abs(trace["heading_error_deg"])))
    motion = panel.motion
    apart = wrapped_deg(ledger["total_deg"] - trace["heading_error_deg"])
    tumbled = bool(np.any(trace["on_stop"]))
    return {
        "title": motion.title,
        "aircraft": panel.aircraft.name,
        "start_utc": motion.start_utc.isoformat(),
        "duration_min": round(motion.duration_s / 60.0, 2),
        "reference": "true" if panel.true_reference else "magnetic",
        "field_model": f"{panel.field.model}, {motion.decimal_year:.2f}",
        "seed": seed,
        "versions": {"lubberline": version("lubberline"), "numpy": np.__version__},
        "sentence": sentence(drift, lasting[0], tumbled, _stopped_min(trace)),
        "drift_deg_15min": {name: round(value, 3) for name, value in drift.items()},
        "interval_3deg_min": _interval_entry(lasting[0]),
        "interval_5deg_min": _interval_entry(lasting[1]),
        "error_at_end_deg": round(float(trace["heading_error_deg"][-1]), 2),
        "worst_error_deg": round(float(trace["heading_error_deg"][worst]), 2),
        "worst_error_at_s": float(time_s[worst]),
        "tumbled": tumbled,
        # How far the ledger's sum is from the error at the worst row.
        "ledger_gap_deg": float(f"{np.max(np.abs(apart)):.2e}"),
        "settings": _settings_entry(panel, readings, laws),
        "sparse_share": _share(motion.sparse),
        "slow_share": _share(motion.slow),
        "notes": list(motion.notes),
        "warnings": [*motion.warnings, *panel.field.warnings],
        "cautions": list(CAUTIONS),
    }


def _share(flags: Bools) -> float:
    return round(float(np.mean(flags)), 4) if len(flags) else 0.0


def fly(
    flight: Motion | str | Path,
    aircraft: Aircraft | str | Path | None = None,
    *,
    seed: int = 0,
    believe: Sequence[str] = (),
    set_every_min: float | None = None,
    set_from: Source | None = None,
    true_reference: bool = False,
    wind: str | None = None,
    faults: Sequence[str] = (),
) -> Flown:
    """Fly an aircraft's instruments along a flight and account for every degree of error.

    Args:
        flight: a motion, or the path of a legs file (TOML) or recorded track (GPX, IGC, CSV).
        aircraft: an aircraft or the path of its file; without one, a healthy aircraft.
        seed: decides the random part of real wander and the pilot's misreadings.
        believe: ids of wrong ideas to fly beside the truth.
        set_every_min: set the heading indicator every so many minutes, in straight flight.
        set_from: 'compass' or 'truth', for all settings after the start; without it, as the flight file
            says, and from the compass where it does not say.
        true_reference: errors are against true heading, and settings are to true.
        wind: `DIR/KT`, overrides a legs file's wind; a track's heading is then taken from the air.
        faults: each `NAME[=SIZE]@MINUTES`.

    Returns:
        The flight flown: trace, ledger, compass ledger, summary, and the believed traces.

    Raises:
        InputError: for bad input, naming what, where, and what would be right.
    """
    ideas = [flown_idea(name) for name in believe]
    panel, actions = prepare_flight(
        flight,
        aircraft,
        set_every_min=set_every_min,
        set_from=set_from,
        true_reference=true_reference,
        wind=wind,
        faults=faults,
        seed=seed,
    )
    readings = read(panel, actions, PHYSICS, seed)
    trace, ledgers = trace_of(panel, readings), ledgers_of(panel, readings, PHYSICS)
    thoughts = [(idea, read(panel, actions, idea.laws, seed)) for idea in ideas]
    return Flown(
        trace=trace,
        ledgers=ledgers,
        summary=summary_of(panel, readings, PHYSICS, trace, ledgers["heading_indicator"], seed),
        motion=panel.motion,
        believed=tuple(
            Believed(
                idea.id,
                idea.statement,
                trace_of(panel, thought),
                ledger_of(panel, thought, idea.laws),
            )
            for idea, thought in thoughts
        ),
    )


GREATEST_MEMBERS = 100_000
SHARES = (5, 25, 50, 75, 95)

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Ensemble:
    """Errors of all members.

    Attributes:
        time_s: of the rows.
        heading_error_deg: (members, rows), in (-180, 180], single precision to save memory.
        first_seed: the seed of the first member; the others follow it.
    """

    time_s: Floats
    heading_error_deg: NDArray[np.float32]
    first_seed: int

    @property
    def columns(self) -> Columns:
        """Shares of the members: the error below which 5, 25, 50, 75 and 95% lie at each row."""
        levels = np.percentile(self.heading_error_deg, SHARES, axis=0)
        named = {f"error_p{share:02d}_deg": level for share, level in zip(SHARES, levels, strict=True)}
        return Columns({"time_s": self.time_s, **named})


def fly_ensemble(
    panel: Panel,
    actions: tuple[Action, ...],
    members: int,
    *,
    seed: int = 0,
    workers: int | None = None,
    progress: Progress | None = None,
    laws: Laws = PHYSICS,
) -> Ensemble:
    """Fly one panel with `members` seeds: real wander and misreadings differ, the flight's air does not.

    Args:
        panel: from `prepare_flight`.
        actions: from `prepare_flight`.
        members: 1 to 100,000.
        seed: of the first member; member k has seed + k.
        workers: threads; all cores without it.
        progress: called with (done, members) after each member, from the calling thread.
        laws: the laws.

    Raises:
        InputError: for a number of members out of range.
    """
    if not 1 <= members <= GREATEST_MEMBERS:
        raise InputError("--ensemble", f"{members} members", f"give 1 to {GREATEST_MEMBERS}")
    cards, row_index = instruments()["heading_indicator"], panel.row_index
    others = dict(panel.rows)
    for name in cards.instrument.needs:
        if name not in others:
            others[name] = instruments()[name].fly(panel, others, laws, actions, seed)
    errors = np.empty((members, len(row_index)), dtype=np.float32)

    def one(member: int) -> None:
        shown = cards.fly(panel, others, laws, actions, seed + member)
        error = shown.rows["indicated_rad"] - panel.reference_rad[row_index]
        errors[member] = wrapped_deg(error / DEG)

    pool = ThreadPoolExecutor(max_workers=workers or os.cpu_count() or 1)
    try:
        for done, _ in enumerate(pool.map(one, range(members)), start=1):
            if progress:
                progress(done, members)
    finally:
        # After an interruption the waiting members are not flown.
        pool.shutdown(cancel_futures=True)
    return Ensemble(panel.motion.samples["time_s"][row_index], errors, seed)
