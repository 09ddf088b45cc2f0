"""Cards set, turned, caged and let go: one action on every gyro, by the step functions of batch."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.card import CAGE, HEADING_ROW, SET, UNCAGE, fly_heading
from lubberline.simulation.heading_indicator.chance import misreadings_deg
from lubberline.simulation.heading_indicator.ledger import errors_when_set
from lubberline.simulation.live.state import Believer, BenchState, Carried, Rows, Setting
from lubberline.simulation.panel import card_targets
from lubberline.units import DEG

NO_ACTIONS = np.zeros((0, 3))
NO_ROWS = np.zeros(0, dtype=HEADING_ROW)
# Reading to which a card is set, rad, and what was misread, deg.
Aim = Callable[[BenchState, Carried, Believer], tuple[float, float]]


def _acted(state: BenchState, carried: Carried, believer: Believer, kind: int, target_rad: float) -> Believer:
    """A believer after one action, its last row as it is then."""
    rows, before, after = (np.zeros(1, dtype=HEADING_ROW) for _ in range(3))
    gyro = fly_heading(
        believer.gyro,
        state.samples[1:2],
        carried.drive[1:2],
        np.zeros(1),
        np.array([state.variation_rad]),
        np.array([[0.0, float(kind), target_rad]]),
        STEP_S,
        1,
        carried.gyro,
        believer.laws,
        rows,
        before,
        after,
    )
    return replace(believer, gyro=gyro, rows=np.concatenate([believer.rows[:-1], after]))


def row_of(state: BenchState, carried: Carried, believer: Believer) -> Rows:
    """What a card shows now: one `HEADING_ROW`."""
    rows = np.zeros(1, dtype=HEADING_ROW)
    fly_heading(
        believer.gyro,
        state.samples[1:2],
        carried.drive[1:2],
        np.zeros(1),
        np.array([state.variation_rad]),
        NO_ACTIONS,
        STEP_S,
        1,
        carried.gyro,
        believer.laws,
        rows,
        NO_ROWS,
        NO_ROWS,
    )
    return rows


def each_card(state: BenchState, act: Callable[[Carried, Believer], Believer]) -> BenchState:
    """The state with every believer of every aircraft replaced."""
    carried = tuple(
        replace(entry, believers=tuple(act(entry, believer) for believer in entry.believers))
        for entry in state.carried
    )
    return replace(state, carried=carried, actions=state.actions + 1)


def caged(state: BenchState, on: bool) -> BenchState:
    """All gyros locked to the case, or let go."""
    kind = CAGE if on else UNCAGE
    return each_card(state, lambda carried, believer: _acted(state, carried, believer, kind, 0.0))


def _set(state: BenchState, source: str, aim: Aim) -> BenchState:
    def act(carried: Carried, believer: Believer) -> Believer:
        target_rad, misread_deg = aim(state, carried, believer)
        done = _acted(state, carried, believer, SET, target_rad)
        errors = errors_when_set(
            by_compass=np.array([source == "compass"]),
            by_truth=np.array([source == "truth"]),
            compass=believer.compass_row,
            variation_rad=np.array([state.variation_rad]),
            misreading_deg=np.array([misread_deg]),
            laws=believer.laws,
            true_reference=state.true_reference,
        )
        setting = Setting(
            state.step, state.variation_rad, {name: float(value[0]) for name, value in errors.items()}
        )
        return replace(done, setting=setting, geometry_deg=0.0, rows=done.rows[-1:])

    return each_card(state, act)


def set_from(state: BenchState, source: str, by_hand: bool = True) -> BenchState:
    """Every card set from its compass or from the truth, misread as this aircraft's pilot does."""

    def aim(state: BenchState, carried: Carried, believer: Believer) -> tuple[float, float]:
        misread_deg = 0.0
        sd_deg = carried.aircraft.pilot.misreading_sd_deg
        if by_hand and sd_deg > 0.0:
            misread_deg = float(misreadings_deg(sd_deg, state.actions + 1, carried.seed)[-1])
        targets = card_targets(
            heading_rad=np.array([state.samples[1]["heading_rad"]]),
            compass_rad=believer.compass_row["reading_rad"],
            variation_rad=np.array([state.variation_rad]),
            from_compass=np.array([source == "compass"]),
            misreading_deg=np.array([misread_deg]),
            laws=believer.laws,
            true_reference=state.true_reference,
        )
        return float(targets[0]), misread_deg

    return _set(state, source, aim)


def _misread_deg(state: BenchState, target_rad: float) -> float:
    return float(wrapped_deg(np.array([(target_rad - state.reference_rad) / DEG]))[0])


def set_to(state: BenchState, to_deg: float) -> BenchState:
    """Every card set to a number; all that is wrong with it is booked as misread."""

    def aim(state: BenchState, carried: Carried, believer: Believer) -> tuple[float, float]:
        return to_deg * DEG, _misread_deg(state, to_deg * DEG)

    return _set(state, "number", aim)


def turned_by(state: BenchState, by_deg: float) -> BenchState:
    """Every card moved by so much with the knob: a setting, all that is wrong then booked as misread."""

    def aim(state: BenchState, carried: Carried, believer: Believer) -> tuple[float, float]:
        target = (float(believer.rows[-1]["indicated_rad"]) + by_deg * DEG) % (2.0 * math.pi)
        return target, _misread_deg(state, target)

    return _set(state, "knob", aim)
