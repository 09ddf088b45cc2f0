"""The registry of instruments for flights, the bench, addresses and files.

An instrument is registered in one line of `REGISTERED`. `Fitted` is the general way, which a simple
instrument needs nothing but; one that is set by hand, or shows more than a needle, does some of it otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from graphlib import TopologicalSorter
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np

from lubberline.flight.legs.file import FAULT_NAMES
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import FAULTS, fault_segments
from lubberline.instruments.instrument import Instrument, Laws, Met, Rows, fly_instrument
from lubberline.units import DEG

if TYPE_CHECKING:
    from lubberline.simulation.heading_indicator.settings import Action
    from lubberline.simulation.live.state import Believer, BenchState, Carried, Start, Stretch
    from lubberline.simulation.misconceptions.idea import Physical
    from lubberline.simulation.panel import Panel, Readings

Frame = dict[str, Any]
Done = tuple["BenchState", str]
Effect = Callable[["BenchState", Any], Done]

# In the order of the page and the files.
REGISTERED = (
    "lubberline.simulation.heading_indicator",
    "lubberline.simulation.suction",
    "lubberline.simulation.compass",
)


@dataclass(frozen=True, slots=True)
class Held:
    """An instrument on the bench: its state, and its rows of the last steps, the last of them now."""

    state: Any
    rows: Rows


def column_of(field: str) -> str:
    """The column under which a field of a row leaves: angles in degrees, all else as it is."""
    return f"{field.removesuffix('_rad')}_deg" if field.endswith("_rad") else field


def value_of(rows: Any, field: str) -> Any:
    """The values of a field of rows, by the unit of its column."""
    return rows[field] / DEG if field.endswith("_rad") else rows[field]


class Fitted:
    """An instrument fitted to a panel, the general way.

    Attributes:
        instrument: what it is.
        name: the instrument's.
        ideas: wrong ideas of it: named changes of its laws.
        orders: what may be done to it on the bench, by the order's record.
        order_words: words of an address that stand for an order: its kind, and the field with the number.
    """

    orders: Mapping[type, Effect] = {}
    order_words: Mapping[str, tuple[str, str]] = {}

    def __init__(self, instrument: Instrument, ideas: Iterable[Physical] = ()) -> None:
        self.instrument, self.name = instrument, instrument.name
        self.ideas = tuple(ideas)

    def _needed(self, rows: Mapping[str, Any]) -> dict[str, Rows]:
        return {name: rows[name] for name in self.instrument.needs}

    def fly(
        self, panel: Panel, before: Mapping[str, Any], laws: Laws, actions: tuple[Action, ...], seed: int
    ) -> Any:
        """Its readings along a whole flight: one row per sample.

        Args:
            panel: the flight and what is fitted.
            before: what the instruments flown before it showed, by name.
            laws: the laws.
            actions: what the pilot does to it.
            seed: of what chance decides.
        """
        own = self.instrument
        met = Met(
            panel.motion.samples,
            panel.field.samples,
            panel.variation_rad,
            self._needed(before),
        )
        first = panel.aircraft.faults_at_start(own.healthy)
        segments = fault_segments(first, panel.faults, STEP_S)
        return fly_instrument(own, met, panel.fitted[self.name], first, segments, laws.of(own.laws))

    def columns(self, panel: Panel, readings: Readings, index: Any) -> dict[str, Any]:
        """Its columns of the trace at samples."""
        rows = readings.of[self.name][index]
        return {column_of(field): value_of(rows, field) for field in self.instrument.shows}

    def ledger(self, panel: Panel, readings: Readings, laws: Laws, index: Any) -> dict[str, Any]:
        """Its error by cause at samples, with their sum; nothing if it has no causes."""
        rows = readings.of[self.name][index]
        columns = {column_of(field): value_of(rows, field) for field in self.instrument.causes}
        if not columns:
            return {}
        total = np.sum(list(columns.values()), axis=0)
        unit = next(iter(columns)).rpartition("_")[2]
        return {"time_s": panel.motion.samples["time_s"][index], **columns, f"total_{unit}": total}

    def begin(self, met: Met, carried: Carried, laws: Laws) -> Held:
        """New and at rest at the bench's place."""
        own, faults = self.instrument, carried.faults[self.name]
        rows = np.zeros(len(met.samples), dtype=own.row)
        state = own.settle(met, carried.fitted[self.name], faults, faults, laws.of(own.laws), rows)
        return Held(state, rows[:1])

    def advance(
        self, held: Any, met: Met, rows: Mapping[str, Any], carried: Carried, laws: Laws
    ) -> tuple[Any, Rows]:
        """The instrument at the last sample of a stretch, and its rows at every sample."""
        state, shown = self.stepped(held, met, rows, carried, laws)
        return Held(state, shown[-2:].copy()), shown

    def stepped(
        self, held: Any, met: Met, rows: Mapping[str, Any], carried: Carried, laws: Laws
    ) -> tuple[Any, Rows]:
        """The state at the last sample of a stretch, and the rows at every sample."""
        own, name = self.instrument, self.name
        if own.needs:
            met = met._replace(rows=self._needed(rows))
        shown = np.zeros(len(met.samples), dtype=own.row)
        shown[0] = held.rows[-1]
        faults, fitted = carried.faults[name], carried.fitted[name]
        return own.carry(held.state, met, fitted, faults, laws.of(own.laws), shown), shown

    def chance(self, carried: Carried, met: Met) -> Any:
        """Its random part at each sample; none."""
        return None

    def again(self, state: BenchState, carried: Carried, held: Any, laws: Laws) -> Any:
        """The instrument after the bench was moved to another place: unchanged."""
        return held

    def believed(self, state: BenchState, carried: Carried, held: Any, laws: Laws) -> Any:
        """A ghost that starts as the true instrument."""
        return held

    def reset(self, state: BenchState, start: Start | None = None) -> BenchState:
        """The bench after its instruments were started again: unchanged."""
        return state

    def shown(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """Its reading now: its part of a frame's `shown`."""
        row = believer.held[self.name].rows[-1]
        return {column_of(field): round(float(value_of(row, field)), 4) for field in self.instrument.shows}

    def inside(self, state: BenchState, carried: Carried, finger_nm: float) -> Frame:
        """The rest of its part of a frame: its error by cause."""
        row = carried.truth.held[self.name].rows[-1]
        causes = {column_of(field): round(float(value_of(row, field)), 4) for field in self.instrument.causes}
        return {"ledgers": {self.name: causes}} if causes else {}

    def ghost(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """What somebody with a wrong idea expects it to show now."""
        return self.shown(state, carried, believer)

    def series(self, after: BenchState, way: Stretch, number: Any) -> dict[str, Any]:
        """Its columns of a bench's history, at steps of a stretch that ended in a state."""
        rows = way.rows[self.name][number]
        return {column_of(field): value_of(rows, field) for field in self.instrument.shows}

    def happened(self, before: BenchState, after: BenchState, way: Stretch) -> list[str]:
        """The events of a stretch."""
        return []

    def start_fields(self, state: BenchState) -> Frame:
        """The fields of a scene's start that reproduce this state."""
        return {}

    def order_fields(self, state: BenchState) -> tuple[list[Frame], list[Frame]]:
        """Orders that give a new bench this state: those before and those after the flight."""
        return [], []


FITTED: dict[str, Fitted] = {}


def register(fitted: Fitted) -> None:
    """Add an instrument to the registry, with its faults and its wrong ideas."""
    from lubberline.simulation.misconceptions import add_ideas

    FITTED[fitted.name] = fitted
    FAULTS.update(fitted.instrument.faults)
    FAULT_NAMES.extend(name for name in fitted.instrument.faults if name not in FAULT_NAMES)
    add_ideas(fitted.ideas)


@cache
def _read_registered() -> None:
    for module in REGISTERED:
        register(import_module(module).FITTED)


def instruments() -> dict[str, Fitted]:
    """Every instrument by name, as they are shown."""
    _read_registered()
    return FITTED


@lru_cache(maxsize=4)
def _ordered(names: tuple[str, ...]) -> tuple[Fitted, ...]:
    needs = {name: FITTED[name].instrument.needs for name in names}
    return tuple(FITTED[name] for name in TopologicalSorter(needs).static_order())


def in_order() -> tuple[Fitted, ...]:
    """Every instrument, each after those that it needs."""
    return _ordered(tuple(instruments()))
