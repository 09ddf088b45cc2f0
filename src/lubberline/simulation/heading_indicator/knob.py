"""Cards set, turned, caged and let go on the bench: each an action on every gyro, by the step of batch."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Annotated, Any, Literal, cast

import msgspec
import numpy as np
from msgspec import Meta

from lubberline.angles import rose_deg, rose_rad, wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator import HEADING_INDICATOR, NO_ROWS
from lubberline.instruments.heading_indicator.card import CAGE, HEADING_ROW, SET, UNCAGE, fly_heading
from lubberline.instruments.heading_indicator.gyro import GyroLaws, GyroState
from lubberline.instruments.instrument import Laws, Rows
from lubberline.simulation.fitted import Done, Effect
from lubberline.simulation.heading_indicator.ledger import NAME, HeldCard, Setting, errors_when_set
from lubberline.simulation.heading_indicator.settings import misreadings_deg
from lubberline.simulation.live.orders import Heading, Order, side
from lubberline.simulation.live.state import Believer, BenchState, Carried
from lubberline.units import DEG

# Reading to which a card is set, rad, and the misreading, deg; without one, the whole error.
Aim = Callable[[Carried, Believer], tuple[float, float | None]]


class Set(Order, frozen=True, tag="set"):
    """Set the cards to the compass or the truth, or to a number."""

    from_: Literal["compass", "truth"] | None = msgspec.field(default=None, name="from")
    to_deg: Heading | None = None

    def check(self, where: str) -> None:
        """It is set from one thing."""
        if (self.from_ is None) == (self.to_deg is None):
            raise InputError(f"{where}, set", "give only one source", "give from, or to_deg")


class Knob(Order, frozen=True, tag="knob"):
    """Turn the setting knob, moving the cards by so much."""

    by_deg: Annotated[float, Meta(ge=-180.0, le=180.0)]


class Cage(Order, frozen=True, tag="cage"):
    """Lock the gimbals to the case, or let them go."""

    on: bool


class Finger(Order, frozen=True, tag="finger"):
    """A finger on the card, clockwise seen from above positive; 0 lets go."""

    torque_nm: Annotated[float, Meta(ge=-0.002, le=0.002)]


class Reference(Order, frozen=True, tag="reference"):
    """Errors and settings by true or magnetic heading; the cards are set to it correctly."""

    true: bool


def card_targets(
    *,
    heading_rad: Floats,
    compass_rad: Floats,
    variation_rad: Floats,
    from_compass: Bools,
    misreading_deg: Floats,
    laws: Laws,
    true_reference: bool,
) -> Floats:
    """Readings to which cards are set from the compass, or else from the truth, rad; arrays alike."""
    variation = laws.of(GyroLaws()).variation_sign * variation_rad
    by_compass = compass_rad + (variation if true_reference else 0.0)
    by_truth = heading_rad - (0.0 if true_reference else variation)
    return np.asarray(np.where(from_compass, by_compass, by_truth) + misreading_deg * DEG)


def acted(
    state: BenchState, carried: Carried, gyro: GyroState, laws: Laws, actions: Floats
) -> tuple[GyroState, Rows]:
    """A gyro after actions at this step, and what its card shows then: one row."""
    rows, before, after = (np.zeros(max(len(actions), 1), dtype=HEADING_ROW) for _ in range(3))
    gyro = fly_heading(
        gyro,
        state.samples[1:2],
        carried.shared["suction"].rows[-1:],
        np.zeros(1),
        np.array([state.variation_rad]),
        actions,
        STEP_S,
        1,
        carried.fitted[NAME],
        laws.of(HEADING_INDICATOR.laws),
        rows,
        before if len(actions) else NO_ROWS,
        after if len(actions) else NO_ROWS,
    )
    return gyro, after if len(actions) else rows


def _acted(state: BenchState, carried: Carried, believer: Believer, kind: int, target_rad: float) -> HeldCard:
    """A believer's card after one action, its last row as it is then."""
    held = believer.held[NAME]
    actions = np.array([[0.0, float(kind), target_rad]])
    gyro, after = acted(state, carried, held.state, believer.laws, actions)
    return cast(HeldCard, replace(held, state=gyro, rows=np.concatenate([held.rows[:-1], after])))


def _each_card(state: BenchState, act: Callable[[Carried, Believer], HeldCard]) -> BenchState:
    """The state with every card of every aircraft replaced."""
    carried = tuple(
        replace(
            entry,
            believers=tuple(believer.holding(NAME, act(entry, believer)) for believer in entry.believers),
        )
        for entry in state.carried
    )
    return replace(state, carried=carried, actions=state.actions + 1)


def _set(state: BenchState, source: str, aim: Aim) -> BenchState:
    def act(carried: Carried, believer: Believer) -> HeldCard:
        target_rad, misread_deg = aim(carried, believer)
        if misread_deg is None:
            misread_deg = wrapped_deg((target_rad - state.reference_rad) / DEG)
        done = _acted(state, carried, believer, SET, target_rad)
        errors = errors_when_set(
            by_compass=np.array([source == "compass"]),
            by_truth=np.array([source == "truth"]),
            compass=believer.held["compass"].rows[-1:],
            variation_rad=np.array([state.variation_rad]),
            misreading_deg=np.array([misread_deg]),
            laws=believer.laws,
            true_reference=state.true_reference,
        )
        setting = Setting(
            state.step, state.variation_rad, {name: float(value[0]) for name, value in errors.items()}
        )
        return replace(done, setting=setting, geometry_deg=0.0, rows=done.rows[-1:])

    return _each_card(state, act)


def set_from(state: BenchState, source: str, by_hand: bool = True) -> BenchState:
    """Every card set to its compass or to the truth, with this aircraft's pilot's reading error."""

    def aim(carried: Carried, believer: Believer) -> tuple[float, float]:
        misread_deg = 0.0
        sd_deg = carried.aircraft.pilot.misreading_sd_deg
        if by_hand and sd_deg > 0.0:
            misread_deg = float(misreadings_deg(sd_deg, state.actions + 1, carried.seed)[-1])
        targets = card_targets(
            heading_rad=np.array([state.samples[1]["heading_rad"]]),
            compass_rad=believer.held["compass"].rows[-1:]["reading_rad"],
            variation_rad=np.array([state.variation_rad]),
            from_compass=np.array([source == "compass"]),
            misreading_deg=np.array([misread_deg]),
            laws=believer.laws,
            true_reference=state.true_reference,
        )
        return float(targets[0]), misread_deg

    return _set(state, source, aim)


def set_to(state: BenchState, to_deg: float) -> BenchState:
    """Every card set to a number; its error is counted as misread."""
    return _set(state, "number", lambda carried, believer: (to_deg * DEG, None))


def _by_order(state: BenchState, order: Set) -> Done:
    if order.from_ is not None:
        words = f"set from {'the truth' if order.from_ == 'truth' else 'compass'}"
        return set_from(state, order.from_), words
    to_deg = order.to_deg or 0.0
    return set_to(state, to_deg), f"set to {rose_deg(to_deg):05.1f}"


def _turned(state: BenchState, order: Knob) -> Done:
    """Every card moved by an angle with the knob: a setting, whose error is counted as misread."""

    def aim(carried: Carried, believer: Believer) -> tuple[float, None]:
        return rose_rad(float(believer.held[NAME].rows[-1]["indicated_rad"]) + order.by_deg * DEG), None

    return _set(state, "knob", aim), f"knob turned {side(order.by_deg)}"


def _caged(state: BenchState, order: Cage) -> Done:
    kind = CAGE if order.on else UNCAGE
    done = _each_card(state, lambda carried, believer: _acted(state, carried, believer, kind, 0.0))
    return done, "caged" if order.on else "uncaged"


def _referred(state: BenchState, order: Reference) -> Done:
    state = set_from(replace(state, true_reference=order.true), "truth", by_hand=False)
    return state, f"set to {'true' if order.true else 'magnetic'} heading, and errors are against it"


EFFECTS: Mapping[type[Any], Effect] = {
    Set: _by_order,
    Knob: _turned,
    Cage: _caged,
    Finger: lambda state, order: (
        replace(state, finger_nm=order.torque_nm),
        "finger on the card" if order.torque_nm else "let go",
    ),
    Reference: _referred,
}
