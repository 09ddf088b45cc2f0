"""A needle of these tests' own, to prove that an instrument needs no place but its own.

It shows the load factor late, and short of it where it sticks. No such gauge is on any panel.
"""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Any, NamedTuple

import msgspec
import numpy as np

from lubberline.compiled import kernel
from lubberline.flight.legs.file import FAULT_NAMES
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import FAULTS, Fault
from lubberline.instruments.instrument import Dial, Instrument, Met, Rows
from lubberline.simulation import misconceptions
from lubberline.simulation.fitted import Fitted, instruments, register
from lubberline.simulation.misconceptions import Physical
from lubberline.units import STANDARD_GRAVITY_MPS2

Lag = Annotated[float, msgspec.Meta(gt=0.0, le=10.0)]
NEEDLE_ROW = np.dtype([("load_needle_g", "f8"), ("lag_g", "f8"), ("sticking_g", "f8")])


class NeedleEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How late the needle follows."""

    lag_s: Lag = 0.5


class Needle(NamedTuple):
    lag_s: float


class NeedleLaws(NamedTuple):
    """What a turn adds to the weight, as a multiple of the true one."""

    load_in_turns: float = 1.0


class NeedleFaults(NamedTuple):
    needle_sticking: float = 0.0


@kernel
def carry_needle(
    followed_g: float, samples: Any, needle: Needle, faults: NeedleFaults, laws: NeedleLaws, rows: Any
) -> float:
    """From the first sample to the last; `followed_g` is where a needle that does not stick would be."""
    for i in range(rows.shape[0]):
        load = 1.0 + laws.load_in_turns * (-samples[i].force_down_mps2 / STANDARD_GRAVITY_MPS2 - 1.0)
        if i > 0:
            followed_g += (load - followed_g) * (1.0 - math.exp(-STEP_S / needle.lag_s))
        rows[i].load_needle_g = 1.0 + (followed_g - 1.0) * (1.0 - faults.needle_sticking)
        rows[i].lag_g = followed_g - load
        rows[i].sticking_g = rows[i].load_needle_g - followed_g
    return followed_g


def _settle(
    met: Met, needle: Needle, before: NeedleFaults, faults: NeedleFaults, laws: NeedleLaws, rows: Rows
) -> float:
    return carry_needle(1.0, met.samples[:1], needle, faults, laws, rows[:1])


def _carry(
    followed_g: float, met: Met, needle: Needle, faults: NeedleFaults, laws: NeedleLaws, rows: Rows
) -> float:
    return carry_needle(followed_g, met.samples, needle, faults, laws, rows)


LOAD_NEEDLE = Instrument(
    name="load_needle",
    table=NeedleEntry,
    fit=lambda aircraft: Needle(aircraft.load_needle.lag_s),
    row=NEEDLE_ROW,
    settle=_settle,
    carry=_carry,
    shows=("load_needle_g",),
    causes=("lag_g", "sticking_g"),
    laws=NeedleLaws(),
    healthy=NeedleFaults(),
    faults={"sticking": Fault("needle_sticking", 0.25, "sticking needle: share of the load not shown", 1.0)},
    dials=(Dial("load", "g", "load_needle_g", greatest=4.0, step=1.0, decimals=2, good=(0.5, 2.0)),),
    words={"needlelag": "lag_s"},
    refit={"needle_lag_s": (Lag, lambda lag_s: {"lag_s": lag_s})},
)

NO_LOAD = Physical(
    "turns-weigh-nothing",
    "A turn does not press you into the seat.",
    "In a level turn the lift has to carry the turn as well: the load factor is 1 / cos(bank).",
    "common practice, no source",
    law="earth",
    name="turns are light",
    change={"load_in_turns": 0.0},
)


@contextmanager
def registered() -> Iterator[Fitted]:
    """The needle among the instruments, and all as before afterwards."""
    tables: list[dict[str, Any]] = [
        instruments(),  # type: ignore[list-item]
        FAULTS,  # type: ignore[list-item]
        misconceptions.BY_ID,  # type: ignore[list-item]
        misconceptions.FLOWN_BY_ID,  # type: ignore[list-item]
        misconceptions.IDEAS_OF_LAW,  # type: ignore[list-item]
    ]
    before, names = [dict(table) for table in tables], [*FAULT_NAMES]
    fitted = Fitted(LOAD_NEEDLE, ideas=(NO_LOAD,))
    register(fitted)
    try:
        yield fitted
    finally:
        for table, kept in zip(tables, before, strict=True):
            table.clear()
            table.update(kept)
        FAULT_NAMES[:] = names
