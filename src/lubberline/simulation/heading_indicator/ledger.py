"""The ledger: the heading indicator's error split by cause, every column computed separately.

Rate columns are the kernel's integrals of each law's own term since the last setting; geometry is the
card's reading less that in a level aircraft, less the same at the setting; the rest was wrong when it
was set. Nothing here is a remainder, so that the sum is a check.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lubberline.arrays import Bools, Floats, Ints, Records
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator import HEADING_INDICATOR
from lubberline.instruments.heading_indicator.card import SET
from lubberline.instruments.heading_indicator.gyro import GyroLaws
from lubberline.instruments.instrument import Laws, Rows
from lubberline.simulation.fitted import Held
from lubberline.simulation.flown import LEDGER_COLUMNS, Columns
from lubberline.simulation.panel import Panel, Readings
from lubberline.units import DEG, HOUR_S

RATE_COLUMNS = tuple(name.removesuffix("_rad") for name in HEADING_INDICATOR.causes)
# Causes whose rate is shown; the others jump or come and go.
STEADY = tuple(cause for cause in RATE_COLUMNS if cause != "tumble")
# What moves a card that is set correctly and flown straight.
DRIFT_COLUMNS = tuple(f"{cause}_deg" for cause in (*RATE_COLUMNS, "variation_change"))
SET_COLUMNS = ("set_deviation_deg", "set_turning_deg", "set_acceleration_deg", "set_misreading_deg")
CAUSES = LEDGER_COLUMNS[1:-1]
# The effect of these laws has no cause in the truth, and has a separate column.
PHYSICS = GyroLaws()
NAME = "heading_indicator"
LAWS_OF_BELIEF = ("north_seeking_per_s", "turn_drag", "tumble_spin_rad_s", "variation_sign")


@dataclass(frozen=True)
class Cards:
    """What a heading indicator showed along a flight.

    Attributes:
        rows: `HEADING_ROW` records, one a second.
        before: the row just before each action.
        after: the row just after each action.
        misreading_deg: of each action (0 where it is no setting).
    """

    rows: Rows
    before: Rows
    after: Rows
    misreading_deg: Floats


@dataclass(frozen=True, slots=True)
class Setting:
    """The last setting of a card.

    Attributes:
        step: when.
        variation_rad: then.
        errors_deg: what was wrong then by cause, and 'believed_deg', as `errors_when_set`.
    """

    step: int
    variation_rad: float
    errors_deg: dict[str, float]


@dataclass(frozen=True, slots=True)
class HeldCard(Held):
    """A heading indicator on the bench; its rows are those of the last second or since it was set.

    Attributes:
        setting: when it was last set.
        geometry_deg: bank and pitch's part since then, unwrapped.
    """

    setting: Setting
    geometry_deg: float


def cards_of(readings: Readings) -> Cards:
    """What the heading indicator showed."""
    cards: Cards = readings.of[NAME]
    return cards


def settings_of(readings: Readings) -> Ints:
    """Which of the actions are settings."""
    return np.flatnonzero([a.kind == SET for a in readings.actions])


def last_setting(panel: Panel, readings: Readings) -> Ints:
    """For each row, the number (among the actions) of the setting it follows."""
    settings = settings_of(readings)
    index = np.array([readings.actions[k].index for k in settings])
    return settings[np.searchsorted(index, panel.row_index, side="right") - 1]


def set_errors(panel: Panel, readings: Readings, laws: Laws) -> dict[str, Floats]:
    """The error at each action, by cause, in degrees (zero if it is not a setting)."""
    index = np.array([a.index for a in readings.actions], dtype=np.int64)
    return errors_when_set(
        by_compass=np.array([a.kind == SET and a.source == "compass" for a in readings.actions]),
        by_truth=np.array([a.kind == SET and a.source == "truth" for a in readings.actions]),
        compass=readings.of["compass"][index],
        variation_rad=panel.variation_rad[index],
        misreading_deg=cards_of(readings).misreading_deg,
        laws=laws,
        true_reference=panel.true_reference,
    )


def errors_when_set(
    *,
    by_compass: Bools,
    by_truth: Bools,
    compass: Records,
    variation_rad: Floats,
    misreading_deg: Floats,
    laws: Laws,
    true_reference: bool,
) -> dict[str, Floats]:
    """The errors of settings by cause, in degrees; arrays alike, `compass` of `COMPASS_ROW`.

    Lag and liquid drag of the compass are booked with turning, from which they come.
    """
    shift = (laws.of(PHYSICS).variation_sign - 1.0) * variation_rad / DEG
    believed = np.where(by_compass, shift, 0.0) if true_reference else np.where(by_truth, -shift, 0.0)
    return {
        "set_deviation_deg": np.where(by_compass, compass["deviation_rad"] / DEG, 0.0),
        "set_turning_deg": np.where(
            by_compass,
            (compass["turning_rad"] + compass["lag_rad"]) / DEG,
            0.0,
        ),
        "set_acceleration_deg": np.where(by_compass, compass["acceleration_rad"] / DEG, 0.0),
        "set_misreading_deg": misreading_deg,
        "believed_deg": believed,
    }


def _geometry_deg(cards: Cards, since: Ints) -> Floats:
    """Unwrapped from each setting on, zero there."""
    raw = cards.rows["geometry_rad"] / DEG
    at_setting = cards.after["geometry_rad"] / DEG
    geometry = np.empty(len(raw))
    for k in np.unique(since):
        rows = since == k
        line = np.concatenate([[at_setting[k]], raw[rows]])
        geometry[rows] = np.unwrap(line, period=360.0)[1:] - at_setting[k]
    return geometry


def ledger_of(panel: Panel, readings: Readings, laws: Laws) -> Columns:
    """The ledger, one row a second, in degrees; under a wrong idea with a `believed_deg` column too.

    That column holds what only the wrong idea does: a card that seeks north, is dragged along in a turn or
    spins on, a variation applied the wrong way at the setting.
    """
    cards, since, row_index = cards_of(readings), last_setting(panel, readings), panel.row_index
    at_setting = np.array([panel.variation_rad[a.index] for a in readings.actions])
    return _accounted(
        panel.motion.samples["time_s"][row_index],
        cards.rows,
        _geometry_deg(cards, since),
        0.0 if panel.true_reference else panel.variation_rad[row_index] - at_setting[since],
        {name: error[since] for name, error in set_errors(panel, readings, laws).items()},
        laws,
    )


def _accounted(
    time_s: Floats,
    rows: Rows,
    geometry_deg: Floats,
    variation_change_rad: Floats | float,
    errors_deg: Mapping[str, Floats | float],
    laws: Laws,
) -> Columns:
    """The columns in the ledger's order with their sum; `believed_deg` only where the laws need it."""
    own, nothing = laws.of(PHYSICS), np.zeros(len(rows))
    columns: dict[str, Floats] = {
        **{f"{cause}_deg": rows[f"{cause}_rad"] / DEG for cause in RATE_COLUMNS},
        "geometry_deg": geometry_deg,
        "variation_change_deg": nothing + variation_change_rad / DEG,
        **{name: nothing + errors_deg[name] for name in SET_COLUMNS},
    }
    ordered = {name: columns[name] for name in CAUSES}
    if any(getattr(own, name) != getattr(PHYSICS, name) for name in LAWS_OF_BELIEF):
        ordered["believed_deg"] = rows["seeking_rad"] / DEG + errors_deg["believed_deg"]
    return Columns({"time_s": time_s, **ordered, "total_deg": sum(ordered.values(), nothing)})


def running_deg(panel: Panel, readings: Readings) -> dict[str, Floats]:
    """Each cause as it runs on through all settings, in degrees; settings themselves left out.

    What the error would do if it were never set: the drift of a flight, and how soon it passes a limit.
    """
    cards, settings = cards_of(readings), settings_of(readings)
    # Which of the settings each row follows; all but the first end what ran on before them.
    follows = np.searchsorted(settings, last_setting(panel, readings))
    running: dict[str, Floats] = {}
    for cause in RATE_COLUMNS:
        ended = np.append(0.0, np.cumsum(cards.before[f"{cause}_rad"][settings[1:]]))
        running[f"{cause}_deg"] = (ended[follows] + cards.rows[f"{cause}_rad"]) / DEG
    running["geometry_deg"] = cards.rows["geometry_rad"] / DEG
    variation = panel.variation_rad[panel.row_index]
    running["variation_change_deg"] = (variation - variation[0]) / DEG * (not panel.true_reference)
    return running


def account(
    held: HeldCard,
    laws: Laws,
    time_s: Floats,
    rows: Rows,
    geometry_deg: Floats,
    variation_rad: Floats,
    true_reference: bool,
) -> Columns:
    """The ledger of a bench's steps since a card's last setting, in degrees.

    Args:
        held: the card; its setting is read.
        laws: under which it moves.
        time_s: of each row.
        rows: `HEADING_ROW` records.
        geometry_deg: bank and pitch's part since the setting, unwrapped, at each row.
        variation_rad: unwrapped, at each row.
        true_reference: errors are against true heading.
    """
    change = 0.0 if true_reference else variation_rad - held.setting.variation_rad
    return _accounted(time_s, rows, geometry_deg, change, held.setting.errors_deg, laws)


def account_now(
    held: HeldCard, laws: Laws, time_s: float, variation_rad: float, true_reference: bool
) -> dict[str, float]:
    """The ledger of a card now, in degrees; arguments as in `account`."""
    geometry, variation = np.array([held.geometry_deg]), np.array([variation_rad])
    columns = account(
        held,
        laws,
        np.array([time_s]),
        held.rows[-1:],
        geometry,
        variation,
        true_reference,
    )
    return {name: float(column[0]) for name, column in columns.items() if name != "time_s"}


def rates_deg_h(rows: Rows) -> dict[str, float]:
    """The rates of the steady causes over the last second or since the setting."""
    per_hour = HOUR_S / (max(len(rows) - 1, 1) * STEP_S) / DEG
    moved = {cause: float(rows[-1][f"{cause}_rad"] - rows[0][f"{cause}_rad"]) for cause in STEADY}
    return {f"{cause}_deg_h": change * per_hour for cause, change in moved.items()}
