"""The same flight by many instruments and pilots of one kind, one seed each, on all cores."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lubberline.angles import wrapped_deg
from lubberline.errors import InputError
from lubberline.instruments.compass.reading import fly_compass
from lubberline.simulation.flown import Columns
from lubberline.simulation.heading_indicator.settings import Action
from lubberline.simulation.laws import PHYSICS, Laws
from lubberline.simulation.panel import ROW_EVERY, Panel, read_heading
from lubberline.units import DEG

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
    compass = fly_compass(panel.motion.samples, panel.field.samples, panel.compass, laws)
    row_index = np.arange((len(panel.motion.samples) - 1) // ROW_EVERY + 1) * ROW_EVERY
    errors = np.empty((members, len(row_index)), dtype=np.float32)

    def one(member: int) -> None:
        readings = read_heading(panel, actions, compass, laws, seed + member)
        error = readings.rows["indicated_rad"] - readings.reference_rad[row_index]
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
