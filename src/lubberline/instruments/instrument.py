"""The interface of an instrument to the rest of the program: parameters, motion, readings and laws.

`instruments/NAME/` makes one `Instrument` of its parameters, state, step, row, causes and faults. Kernels
are handed records alone; what is written here is for those who call them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeVar, cast

import msgspec
import numpy as np

from lubberline.arrays import Floats, Records
from lubberline.flight.motion import Samples
from lubberline.instruments.faults import SOUND, Fault

Rows = Records
Physics = TypeVar("Physics", bound=Any)


class Met(NamedTuple):
    """The inputs of an instrument along a stretch of samples.

    Attributes:
        samples: (n,) of `flight.motion.SAMPLE`.
        field: (n,) of `earth.magnetic.FIELD_SAMPLE`.
        variation_rad: (n,), unwrapped.
        rows: (n,) each, of the instruments that it needs, by name.
        chance: (n,), what chance does to it, where it does anything.
        finger_nm: a finger on a card.
    """

    samples: Samples
    field: Rows
    variation_rad: Floats
    rows: Mapping[str, Rows]
    chance: Any = None
    finger_nm: float = 0.0

    def part(self, first: int, end: int) -> Met:
        """Its inputs from one sample to before another."""
        part = slice(first, end)
        return self._replace(
            samples=self.samples[part],
            field=self.field[part],
            variation_rad=self.variation_rad[part],
            rows={name: rows[part] for name, rows in self.rows.items()},
            chance=None if self.chance is None else self.chance[part],
        )


class Dial(msgspec.Struct, frozen=True):
    """A round dial with one needle, by which the page draws an instrument without a special drawing.

    Attributes:
        title: on its face.
        unit: of the numbers on it.
        shows: which value of the frame's `shown`.
        greatest: end of the scale, which begins at nothing.
        step: from numeral to numeral.
        decimals: of the number under it.
        good: part of the scale that is marked as right.
        per: what the numerals are divided by.
    """

    title: str
    unit: str
    shows: str
    greatest: float
    step: float
    decimals: int = 0
    good: tuple[float, float] | None = None
    per: float = 1.0


@dataclass(frozen=True)
class Instrument:
    """An instrument as flights, the bench and files take it.

    Attributes:
        name: its name, and that of its table in the aircraft file.
        table: what stands in that table; a value for every key that is left out.
        fit: from an aircraft to the record of parameters that the kernels take.
        row: what it shows at a moment, a record; angles in rad.
        settle: `(met, fitted, before, faults, laws, rows) -> state`: at rest at the first sample after a long
            time with the faults `before`, then with `faults`; fills the first row.
        carry: `(state, met, fitted, faults, laws, rows) -> state`: from the first sample to the last, with
            unchanging faults; fills rows from the second on.
        shows: fields of the row for the trace and the page.
        causes: fields of the row that make up its error.
        laws: its record of laws, as physics has them; none where nobody has a wrong idea of it.
        healthy: its record of the sizes of its faults, all nothing.
        faults: its faults as a person names them.
        needs: names of the instruments whose rows it is handed.
        dials: by which the page draws it.
        words: words of a state's address: a key of the table, or a key and the value that it stands for.
        refit: fields of the order that changes what an aircraft carries: type, and the keys it changes.
    """

    name: str
    table: type[msgspec.Struct]
    fit: Callable[[Any], Any]
    row: np.dtype[np.void]
    settle: Callable[..., Any]
    carry: Callable[..., Any]
    shows: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    laws: Any = None
    healthy: Any = SOUND
    faults: Mapping[str, Fault] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    dials: tuple[Dial, ...] = ()
    words: Mapping[str, str | tuple[str, str]] = field(default_factory=dict)
    refit: Mapping[str, tuple[Any, Callable[[Any], dict[str, Any]]]] = field(default_factory=dict)


def fly_instrument(
    own: Instrument, met: Met, fitted: Any, before: Any, segments: Sequence[tuple[int, Any]], laws: Any
) -> Rows:
    """What an instrument shows along a whole flight.

    Args:
        own: the instrument.
        met: what it meets.
        fitted: its parameters.
        before: its faults for a long time before.
        segments: its faults along the flight, from `faults.fault_segments`.
        laws: its record of laws.

    Returns:
        A row for each sample.
    """
    rows = np.zeros(len(met.samples), dtype=own.row)
    state = own.settle(met, fitted, before, segments[0][1], laws, rows)
    ends = [*(start for start, _ in segments[1:]), len(rows)]
    for (start, faults), end in zip(segments, ends, strict=True):
        first = max(start - 1, 0)
        state = own.carry(state, met.part(first, end), fitted, faults, laws, rows[first:end])
    return rows


@dataclass(frozen=True)
class Laws:
    """The laws by which instruments move: physics but for the changes of a wrong idea.

    A wrong idea is a named change of an instrument's record, so truth and any number of wrong ideas run in
    the same compiled kernels.

    Attributes:
        change: fields of instruments' records of laws, with their believed values.
    """

    change: Mapping[str, float] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash(frozenset(self.change.items()))

    def of(self, physics: Physics) -> Physics:
        """An instrument's record of laws with what is changed of it."""
        if not self.change:
            return physics
        own = getattr(physics, "_fields", ())
        changed = {name: value for name, value in self.change.items() if name in own}
        return cast(Physics, physics._replace(**changed)) if changed else physics


PHYSICS = Laws()
