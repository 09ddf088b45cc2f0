"""The door of the engine: a flight and an aircraft in, what was shown and why out; one flight or many."""

import math
import os
import re
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import wrapped_deg
from lubberline.errors import InputError
from lubberline.flight.flights import parse_wind, read_flight
from lubberline.flight.motion import FlightEvent, Motion
from lubberline.instruments.faults import size_of
from lubberline.instruments.instrument import PHYSICS, Laws
from lubberline.simulation.aircraft import Aircraft, read_aircraft
from lubberline.simulation.fitted import instruments
from lubberline.simulation.flown import Believed, Columns, Flown, ledgers_of, trace_of
from lubberline.simulation.heading_indicator.ledger import ledger_of
from lubberline.simulation.heading_indicator.settings import Action, Source, actions_of
from lubberline.simulation.misconceptions import flown_idea
from lubberline.simulation.panel import Panel, prepare, read
from lubberline.simulation.summary import summary_of
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
        raise InputError(where, f"'{text[:40]}' is no fault", right)
    try:
        size = float(found[2]) if found[2] else math.nan
        minutes = float(found[3])
    except ValueError:
        raise InputError(where, f"'{text[:40]}' holds a number that is none", right) from None
    if minutes > DAY_MIN:
        raise InputError(where, f"{minutes:g} minutes is after a whole day", right)
    size_of(found[1], size, where=where)
    return FlightEvent(minutes * 60.0, "fault", found[1], size)


def _checked(seed: int, set_every_min: float | None, set_from: str | None) -> None:
    if not 0 <= seed <= GREATEST_SEED:
        raise InputError("--seed", f"{seed} is out of range", "give a whole number from 0 to 4294967295")
    if set_every_min is not None and not LEAST_INTERVAL_MIN <= set_every_min <= DAY_MIN:
        raise InputError("--set-every", f"{set_every_min:g} is out of range", "give 0.5 to 1440 minutes")
    if set_from not in (None, "compass", "truth"):
        raise InputError("--set-from", f"'{set_from}' is no source", "give compass or truth")


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
    """A flight past a panel with its settings, ready to be read under any laws and seeds.

    Arguments and errors as in `fly`.
    """
    _checked(seed, set_every_min, set_from)
    blowing = parse_wind(wind) if wind else None
    if blowing and isinstance(flight, Motion):
        raise InputError(
            "--wind", "the motion is made already", "give the wind when reading the flight's file"
        )
    parsed = tuple(parse_fault(text) for text in faults)
    if aircraft is None:
        aircraft = Aircraft()
    elif not isinstance(aircraft, Aircraft):
        aircraft = read_aircraft(aircraft)
    motion = flight if isinstance(flight, Motion) else read_flight(flight, blowing)
    panel = prepare(motion, aircraft, parsed, true_reference)
    return panel, tuple(actions_of(motion, set_every_min, set_from))


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
    """Fly a flight past an aircraft's instruments and account for every degree.

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
    believed = []
    for idea in ideas:
        thought = read(panel, actions, idea.laws, seed)
        believed.append(
            Believed(idea.id, idea.statement, trace_of(panel, thought), ledger_of(panel, thought, idea.laws))
        )
    return Flown(
        trace=trace,
        ledgers=ledgers,
        summary=summary_of(panel, readings, PHYSICS, trace, ledgers["heading_indicator"], seed),
        motion=panel.motion,
        believed=tuple(believed),
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

    time_s: NDArray[np.float64]
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
        # After an interruption the members that wait are not flown.
        pool.shutdown(cancel_futures=True)
    return Ensemble(panel.motion.samples["time_s"][row_index], errors, seed)
