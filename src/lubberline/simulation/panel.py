"""One panel along one motion: the field, then every instrument of the registry, each after those it needs.

Each instrument is one pass of its own step function over all samples. What does not depend on the laws
or on chance (field, drive) is computed once and shared by every wrong idea and ensemble member.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from lubberline.arrays import Floats, Ints
from lubberline.earth.magnetic import FieldAlong, field_along
from lubberline.flight.motion import STEP_S, FlightEvent, Motion
from lubberline.instruments.instrument import PHYSICS, Laws
from lubberline.simulation.aircraft import Aircraft, whole
from lubberline.simulation.fitted import in_order

if TYPE_CHECKING:
    from lubberline.simulation.heading_indicator.settings import Action

ROW_EVERY = round(1.0 / STEP_S)


@dataclass(frozen=True)
class Panel:
    """An aircraft's instruments on one motion, with everything that does not depend on seed and laws.

    Attributes:
        motion: the flight.
        aircraft: the instruments.
        field: the magnetic field along the flight.
        variation_rad: at each sample, east positive.
        fitted: each instrument's parameters, by name.
        rows: what the instruments show of which nobody has a wrong idea, by name.
        faults: the faults along the flight, in order of time.
        true_reference: errors are against true heading, and settings to true.
    """

    motion: Motion
    aircraft: Aircraft
    field: FieldAlong
    variation_rad: Floats
    fitted: Mapping[str, Any]
    rows: dict[str, Any]
    faults: tuple[FlightEvent, ...]
    true_reference: bool

    @property
    def row_index(self) -> Ints:
        """The samples of the rows of trace and ledger: one a second."""
        return np.arange((len(self.motion.samples) - 1) // ROW_EVERY + 1) * ROW_EVERY

    @property
    def reference_rad(self) -> Floats:
        """The heading that errors are against, at each sample."""
        heading: Floats = self.motion.samples["heading_rad"]
        return heading if self.true_reference else heading - self.variation_rad


@dataclass(frozen=True)
class Readings:
    """The readings of the instruments under one set of laws.

    Attributes:
        of: by the instrument's name: a row a sample, or what its `Fitted.fly` gives.
        actions: what the pilot did, in order.
    """

    of: Mapping[str, Any]
    actions: tuple[Action, ...]


def prepare(
    motion: Motion, aircraft: Aircraft, faults: tuple[FlightEvent, ...] = (), true_reference: bool = False
) -> Panel:
    """Everything about a flight of a panel that does not depend on laws and seed.

    Raises:
        InputError: for a fault that does not exist or whose size is out of range.
    """
    samples, aircraft = motion.samples, whole(aircraft)
    field = field_along(
        samples["latitude_rad"], samples["longitude_rad"], samples["altitude_m"], motion.decimal_year
    )
    variation = np.arctan2(field.samples["east_nt"], field.samples["north_nt"])
    in_flight = tuple(event for event in motion.events if event.kind == "fault")
    own = (
        FlightEvent(
            entry.at_min * 60.0,
            "fault",
            entry.name,
            entry.given,
        )
        for entry in aircraft.fault
    )
    panel = Panel(
        motion=motion,
        aircraft=aircraft,
        field=field,
        variation_rad=np.unwrap(variation),
        fitted={each.name: each.instrument.fit(aircraft) for each in in_order()},
        rows={},
        faults=tuple(sorted((*own, *in_flight, *faults), key=lambda event: event.time_s)),
        true_reference=true_reference,
    )
    for each in in_order():
        if each.instrument.laws is None:
            panel.rows[each.name] = each.fly(panel, panel.rows, PHYSICS, (), 0)
    return panel


def read(panel: Panel, actions: tuple[Action, ...], laws: Laws, seed: int) -> Readings:
    """Fly the panel: the readings of every instrument under these laws."""
    shown = dict(panel.rows)
    for each in in_order():
        if each.name not in shown:
            shown[each.name] = each.fly(panel, shown, laws, actions, seed)
    return Readings(shown, actions)
