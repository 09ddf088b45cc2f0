"""The heading indicator: its gyro, its card and its knob."""

from typing import Annotated, Any, Literal

import msgspec
import numpy as np

from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading, spin_along
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroLaws, GyroState, balance_torque_nm
from lubberline.instruments.instrument import Instrument, Met, Rows
from lubberline.instruments.suction import ROTOR

Drive = Literal["suction", "pressure", "electric"]
KnobKind = Literal["turns_card", "turns_gimbal"]
Wander = Annotated[float, msgspec.Meta(ge=-90.0, le=90.0)]
Spread = Annotated[float, msgspec.Meta(ge=0.0, le=30.0)]
Balance = Annotated[float, msgspec.Meta(ge=-90.0, le=90.0)] | None

NO_ACTIONS = np.zeros((0, 3))
NO_ROWS = np.zeros(0, dtype=HEADING_ROW)


class HeadingIndicatorEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The heading indicator as it is.

    Attributes:
        drive: what turns its rotor.
        setting: what the knob does: 'turns_card' alone, or 'turns_gimbal' and card together.
        real_wander_deg_15min: its constant real wander at 12,000 rpm, positive: the reading increases.
        real_wander_sd_deg_15min: its standard deviation; drawn for each seed.
        random_wander_deg_15min: standard deviation of its slow random part.
        balance_latitude_deg: latitude for which it is balanced; none when absent.
        spin_axis_deg: true azimuth of the spin axis at the start (knob turns the card alone).
    """

    drive: Drive = "suction"
    setting: KnobKind = "turns_card"
    real_wander_deg_15min: Wander = 0.0
    real_wander_sd_deg_15min: Spread = 0.0
    random_wander_deg_15min: Spread = 0.3
    balance_latitude_deg: Balance = None
    spin_axis_deg: Annotated[float, msgspec.Meta(ge=0.0, lt=360.0)] = 0.0


def gyro_of(aircraft: Any) -> Gyro:
    """The gyro of an aircraft's heading indicator."""
    entry = aircraft.heading_indicator
    full = ROTOR.inertia_kgm2 * ROTOR.full_speed_rad_s
    latitude_deg = entry.balance_latitude_deg
    return Gyro(
        rotor_inertia_kgm2=ROTOR.inertia_kgm2,
        full_momentum_nms=full,
        balance_nm=0.0 if latitude_deg is None else balance_torque_nm(latitude_deg, full),
        knob_turns_gimbal=1.0 if entry.setting == "turns_gimbal" else 0.0,
    )


def _settle(met: Met, gyro: Gyro, before: Any, faults: Any, laws: GyroLaws, rows: Rows) -> GyroState:
    return _carry(spin_along(0.0), met.part(0, 1), gyro, faults, laws, rows[:1])


def _carry(state: GyroState, met: Met, gyro: Gyro, faults: Any, laws: GyroLaws, rows: Rows) -> GyroState:
    return fly_heading(
        state,
        met.samples,
        met.rows["suction"],
        met.chance,
        met.variation_rad,
        NO_ACTIONS,
        STEP_S,
        1,
        gyro,
        laws,
        rows,
        NO_ROWS,
        NO_ROWS,
    )


HEADING_INDICATOR = Instrument(
    name="heading_indicator",
    table=HeadingIndicatorEntry,
    fit=gyro_of,
    row=HEADING_ROW,
    settle=_settle,
    carry=_carry,
    causes=("earth_rad", "travel_rad", "friction_rad", "balance_rad", "levelling_rad", "tumble_rad"),
    laws=GyroLaws(),
    needs=("suction", "compass"),
    words={
        "balance": "balance_latitude_deg",
        "wander": "real_wander_deg_15min",
        "wandersd": "real_wander_sd_deg_15min",
        "random": "random_wander_deg_15min",
        "axis": "spin_axis_deg",
        "drive": "drive",
        "gimbal": ("setting", "turns_gimbal"),
    },
    refit={
        "latitude_balance_deg": (Balance, lambda latitude_deg: {"balance_latitude_deg": latitude_deg}),
        "real_wander_deg_15min": (Wander, lambda wander_deg: {"real_wander_deg_15min": wander_deg}),
        "setting": (KnobKind, lambda kind: {"setting": kind}),
        "drive": (Drive, lambda kind: {"drive": kind}),
    },
)
