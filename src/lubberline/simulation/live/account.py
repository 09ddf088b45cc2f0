"""The ledger of a bench, by the columns and rules of `simulation/ledger`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import STEP_S
from lubberline.simulation.ledger import RATE_COLUMNS, SET_COLUMNS, summed
from lubberline.simulation.live.state import Believer, Rows
from lubberline.units import DEG, HOUR_S

Floats = NDArray[np.float64]

# Causes whose rate is shown; the others jump or come and go.
STEADY = ("earth", "travel", "friction", "balance", "levelling")


def account(
    believer: Believer,
    time_s: Floats,
    rows: Rows,
    geometry_deg: Floats,
    variation_rad: Floats,
    true_reference: bool,
) -> dict[str, Floats]:
    """The ledger of steps since a believer's last setting, in degrees.

    Args:
        believer: whose; its setting is read.
        time_s: of each row.
        rows: `HEADING_ROW` records.
        geometry_deg: bank and pitch's part since the setting, unwrapped, at each row.
        variation_rad: unwrapped, at each row.
        true_reference: errors are against true heading.
    """
    columns: dict[str, Floats] = {"time_s": time_s}
    for cause in RATE_COLUMNS:
        columns[f"{cause}_deg"] = rows[f"{cause}_rad"] / DEG
    columns["geometry_deg"] = geometry_deg
    change = 0.0 if true_reference else 1.0
    columns["variation_change_deg"] = change * (variation_rad - believer.setting.variation_rad) / DEG
    none = np.zeros(len(rows))
    for name in SET_COLUMNS:
        columns[name] = none + believer.setting.errors_deg[name]
    columns["believed_deg"] = rows["seeking_rad"] / DEG + believer.setting.errors_deg["believed_deg"]
    return summed(columns, believer.laws)


def account_now(
    believer: Believer, time_s: float, variation_rad: float, true_reference: bool
) -> dict[str, float]:
    """The ledger of this step, without its time."""
    columns = account(
        believer,
        np.array([time_s]),
        believer.rows[-1:],
        np.array([believer.geometry_deg]),
        np.array([variation_rad]),
        true_reference,
    )
    return {name: float(column[0]) for name, column in columns.items() if name != "time_s"}


def rates_deg_h(believer: Believer) -> dict[str, float]:
    """How fast the steady causes move the card, over the last second or since it was set."""
    first, last = believer.rows[0], believer.rows[-1]
    span_s = (len(believer.rows) - 1) * STEP_S
    if span_s == 0.0:
        return {f"{cause}_deg_h": 0.0 for cause in STEADY}
    per_hour = HOUR_S / span_s / DEG
    return {
        f"{cause}_deg_h": float(last[f"{cause}_rad"] - first[f"{cause}_rad"]) * per_hour for cause in STEADY
    }
