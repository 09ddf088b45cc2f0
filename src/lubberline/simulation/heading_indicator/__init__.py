"""The heading indicator along a flight and on the bench: set by hand, with its own ledger."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from lubberline.angles import rose_deg, wrapped_deg, wrapped_rad
from lubberline.arrays import Floats
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator import HEADING_INDICATOR, NO_ACTIONS
from lubberline.instruments.heading_indicator.card import HEADING_ROW, SET, fly_heading, inside, spin_along
from lubberline.instruments.heading_indicator.gyro import AVERAGED, HELD, RIGID
from lubberline.instruments.instrument import Laws, Met, Rows
from lubberline.simulation.fitted import Fitted, Frame
from lubberline.simulation.heading_indicator.knob import EFFECTS, acted, card_targets, set_from, set_to
from lubberline.simulation.heading_indicator.ledger import (
    NAME,
    Cards,
    HeldCard,
    Setting,
    account,
    account_now,
    cards_of,
    ledger_of,
    rates_deg_h,
)
from lubberline.simulation.heading_indicator.settings import (
    KNOT_S,
    Action,
    misreadings_deg,
    real_wander_nm,
    wander_between_nm,
    wander_knots,
)
from lubberline.simulation.live.state import Believer, BenchState, Carried, Start, Stretch
from lubberline.simulation.live.view import rounded, shown_rose_deg, shown_signed_deg
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings
from lubberline.units import DEG, HOUR_S

# Rows kept of the last steps: a second, both ends included.
RECENT = ROW_EVERY + 1
# A card with a smaller error counts as set correctly.
RIGHT_DEG = 0.05


def wander_along_nm(carried: Carried, first_step: int, count: int) -> Floats:
    """Torque of real wander at `count` samples of a bench from one on."""
    time_s: Floats = np.arange(first_step, first_step + count, dtype=np.float64) * STEP_S
    needed = int(time_s[-1] / KNOT_S) + 3
    knots = wander_knots(
        carried.aircraft.heading_indicator,
        1 << (needed + 64).bit_length(),
        carried.seed,
    )
    return wander_between_nm(knots, time_s, carried.fitted[NAME].full_momentum_nms)


def _table(
    panel: Panel, actions: tuple[Action, ...], compass: Rows, misread_deg: Floats, laws: Laws
) -> Floats:
    """Actions as the kernel takes them: sample, kind, and the reading to which the card is set."""
    index = np.array([a.index for a in actions], dtype=np.int64)
    table = np.zeros((len(actions), 3))
    table[:, 0], table[:, 1] = index, [a.kind for a in actions]
    table[:, 2] = card_targets(
        heading_rad=panel.motion.samples["heading_rad"][index],
        compass_rad=compass["reading_rad"][index],
        variation_rad=panel.variation_rad[index],
        from_compass=np.array([a.source == "compass" for a in actions]),
        misreading_deg=misread_deg,
        laws=laws,
        true_reference=panel.true_reference,
    )
    return table


class HeadingIndicator(Fitted):
    """The heading indicator: set by hand along a flight, moved by chance, and drawn inside and out."""

    orders = EFFECTS
    order_words: Mapping[str, tuple[str, str]] = {"set": ("set", "to_deg"), "finger": ("finger", "torque_nm")}

    def fly(
        self, panel: Panel, before: Mapping[str, Any], laws: Laws, actions: tuple[Action, ...], seed: int
    ) -> Cards:
        """Its card along a whole flight: a row a second, and the rows round each action."""
        samples, gyro = panel.motion.samples, panel.fitted[NAME]
        set_by_hand = np.array([a.kind == SET and a.why != "start" for a in actions])
        drawn = misreadings_deg(panel.aircraft.pilot.misreading_sd_deg, len(actions), seed)
        misread = np.where(set_by_hand, np.array([a.misreading_deg for a in actions]) + drawn, 0.0)
        entry = panel.aircraft.heading_indicator
        rows = np.zeros(len(panel.row_index), dtype=HEADING_ROW)
        around = np.zeros((2, len(actions)), dtype=HEADING_ROW)
        fly_heading(
            spin_along(entry.spin_axis_deg * DEG),
            samples,
            before["suction"],
            real_wander_nm(entry, samples["time_s"], gyro.full_momentum_nms, seed),
            panel.variation_rad,
            _table(panel, actions, before["compass"], misread, laws),
            STEP_S,
            ROW_EVERY,
            gyro,
            laws.of(HEADING_INDICATOR.laws),
            rows,
            around[0],
            around[1],
        )
        return Cards(rows, around[0], around[1], misread)

    def columns(self, panel: Panel, readings: Readings, index: Any) -> dict[str, Any]:
        """Its columns of the trace."""
        rows = cards_of(readings).rows
        indicated = rose_deg(rows["indicated_rad"] / DEG)
        return {
            "indicated_heading_deg": indicated,
            "heading_error_deg": wrapped_deg(indicated - panel.reference_rad[index] / DEG),
            "housing_tilt_deg": rows["tilt_rad"] / DEG,
            "on_stop": rows["on_stop"] != 0.0,
            "caged": rows["caged"] != 0.0,
        }

    def ledger(self, panel: Panel, readings: Readings, laws: Laws, index: Any) -> dict[str, Any]:
        """Its error by cause, unwrapped."""
        return dict(ledger_of(panel, readings, laws))

    def begin(self, met: Met, carried: Carried, laws: Laws) -> HeldCard:
        """New, level, not yet set."""
        axis = spin_along(carried.aircraft.heading_indicator.spin_axis_deg * DEG)
        return HeldCard(axis, np.zeros(1, dtype=HEADING_ROW), Setting(0, 0.0, {}), 0.0)

    def chance(self, carried: Carried, met: Met) -> Floats:
        """The torque of real wander."""
        return wander_along_nm(
            carried,
            round(float(met.samples["time_s"][0]) / STEP_S),
            len(met.samples),
        )

    def advance(
        self, held: HeldCard, met: Met, rows: Mapping[str, Any], carried: Carried, laws: Laws
    ) -> tuple[HeldCard, Rows]:
        """The card at the last sample of a stretch, its rows of the last second kept."""
        state, shown = self.stepped(held, met, rows, carried, laws)
        moved = np.cumsum(wrapped_deg(np.diff(shown["geometry_rad"]) / DEG))
        recent = np.concatenate([held.rows, shown[1:]])[-RECENT:].copy()
        return HeldCard(state, recent, held.setting, float(held.geometry_deg + moved[-1])), shown

    def believed(self, state: BenchState, carried: Carried, held: HeldCard, laws: Laws) -> HeldCard:
        """The card under other laws; the difference is attributed to bank and pitch."""
        _, row = acted(state, carried, held.state, laws, NO_ACTIONS)
        change = wrapped_rad(float(row[0]["geometry_rad"] - held.rows[-1]["geometry_rad"]))
        return replace(held, geometry_deg=held.geometry_deg + change / DEG, rows=row)

    def reset(self, state: BenchState, start: Start | None = None) -> BenchState:
        """The card set as the start says, or correctly."""
        if start is not None and start.indicated_deg is not None:
            return set_to(state, start.indicated_deg)
        return set_from(state, "truth" if start is None else start.set, by_hand=False)

    def shown(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """Its reading and error."""
        indicated = float(believer.held[NAME].rows[-1]["indicated_rad"])
        return {
            "indicated_deg": shown_rose_deg(indicated),
            "error_deg": shown_signed_deg(indicated - state.reference_rad),
        }

    def ghost(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """A believer's reading and tilt."""
        row = believer.held[NAME].rows[-1]
        return {
            "indicated_deg": shown_rose_deg(float(row["indicated_rad"])),
            "tilt_deg": rounded(row["tilt_rad"] / DEG, 3),
        }

    def inside(self, state: BenchState, carried: Carried, finger_nm: float) -> Frame:
        """Its gyro, its ledger and the rate of each cause."""
        truth = carried.truth
        held: HeldCard = truth.held[NAME]
        ledger = account_now(
            held,
            truth.laws,
            state.time_s,
            state.variation_rad,
            state.true_reference,
        )
        return {
            "gyro": self._gyro(state, carried, held, finger_nm),
            "ledger": {name: rounded(value, 4) for name, value in ledger.items()},
            "since_set_s": round((state.step - held.setting.step) * STEP_S, 1),
            "rates": {name: rounded(value, 3) for name, value in rates_deg_h(held.rows).items()},
        }

    def _gyro(self, state: BenchState, carried: Carried, held: HeldCard, finger_nm: float) -> Frame:
        gyro, row, drive = held.state, held.rows[-1], carried.shared["suction"]
        wander = wander_along_nm(carried, max(state.step - 1, 0), 2)
        laws = carried.truth.laws.of(HEADING_INDICATOR.laws)
        within = inside(
            gyro, state.samples[:2], drive.rows, wander, 0, 1.0, STEP_S, carried.fitted[NAME], laws
        )
        per_hour = HOUR_S / DEG
        return {
            "outer_deg": shown_signed_deg(gyro.knob_rad - float(row["indicated_rad"])),
            "tilt_deg": rounded(row["tilt_rad"] / DEG, 3),
            "knob_deg": shown_rose_deg(gyro.knob_rad),
            "rotor_turns": round(drive.turns % 1.0, 4),
            "caged": gyro.caged != 0.0,
            "on_stop": bool(row["on_stop"] != 0.0),
            "regime": {AVERAGED: "averaged", HELD: "held"}.get(gyro.regime, "rigid"),
            "spin_n": rounded(gyro.spin_n, 6),
            "spin_e": rounded(gyro.spin_e, 6),
            "spin_d": rounded(gyro.spin_d, 6),
            "torque_inner_nm": rounded(within.inner_nm, 9),
            "torque_outer_nm": rounded(within.outer_nm, 9),
            "precession_card_deg_h": rounded(within.card_rad_s * per_hour, 2),
            "precession_tilt_deg_h": rounded(within.tilt_rad_s * per_hour, 2),
            "finger_nm": finger_nm,
        }

    def series(self, after: BenchState, way: Stretch, number: Any) -> dict[str, Any]:
        """Reading, error and ledger."""
        truth = after.carried[0].truth
        rows, samples, variation = way.rows[NAME], way.samples[number], way.variation_rad[number]
        # Unwrapped, from that at the last step.
        moved = np.append(0.0, np.cumsum(wrapped_deg(np.diff(rows["geometry_rad"]) / DEG)))
        geometry = truth.held[NAME].geometry_deg + (moved - moved[-1])[number]
        heading, rows = samples["heading_rad"], rows[number]
        reference = heading if after.true_reference else heading - variation
        ledger = account(
            truth.held[NAME],
            truth.laws,
            samples["time_s"],
            rows,
            geometry,
            variation,
            after.true_reference,
        )
        return {
            **ledger,
            "indicated_deg": rose_deg(rows["indicated_rad"] / DEG),
            "error_deg": wrapped_deg((rows["indicated_rad"] - reference) / DEG),
        }

    def happened(self, before: BenchState, after: BenchState, way: Stretch) -> list[str]:
        """Stops touched, and other ways of moving."""
        touched = bool((way.rows[NAME]["on_stop"][1:] != 0.0).any())
        new, old = (state.carried[0].truth.held[NAME] for state in (after, before))
        regime, before_it = new.state.regime, old.state.regime
        changed = regime != before_it and new.state.caged == 0.0
        near = changed and regime == RIGID and not touched and before_it != HELD
        told = {
            "the gyro is on its stop": touched and not old.rows["on_stop"].any(),
            "the rotor has almost stopped: friction holds the card": changed and regime == HELD,
            "the gyro is close to its stop, or its rotor is slow": near,
        }
        return [words for words, holds in told.items() if holds]

    def start_fields(self, state: BenchState) -> Frame:
        """A card that is not set correctly; under true reference it is set at its event."""
        indicated = float(state.carried[0].truth.held[NAME].rows[-1]["indicated_rad"]) / DEG
        right = abs(wrapped_deg(indicated - state.reference_rad / DEG)) <= RIGHT_DEG
        return {} if right or state.true_reference else {"indicated_deg": rose_deg(round(indicated, 2))}

    def order_fields(self, state: BenchState) -> tuple[list[Frame], list[Frame]]:
        """To what it is referred and set; the cage and a finger."""
        card: HeldCard = state.carried[0].truth.held[NAME]
        indicated = float(card.rows[-1]["indicated_rad"]) / DEG
        off = abs(wrapped_deg(indicated - state.reference_rad / DEG)) > RIGHT_DEG
        first = [{"do": "reference", "true": True}, {"do": "set", "to_deg": round(indicated, 2)}]
        cage = [{"do": "cage", "on": True}] if card.state.caged else []
        finger = [{"do": "finger", "torque_nm": state.finger_nm}] if state.finger_nm else []
        return first[: 1 + off] if state.true_reference else [], [*cage, *finger]


FITTED = HeadingIndicator(HEADING_INDICATOR)
