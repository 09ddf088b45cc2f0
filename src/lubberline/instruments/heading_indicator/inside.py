"""What goes on inside a heading indicator at a moment, for drawing: torques, and what they do to the gyro."""

from __future__ import annotations

from typing import Any, NamedTuple

from lubberline.compiled import kernel
from lubberline.instruments.heading_indicator.averaged import precession
from lubberline.instruments.heading_indicator.gyro import AVERAGED, HELD, Gyro, GyroState
from lubberline.instruments.heading_indicator.rigid import dry, stop_torque_nm
from lubberline.instruments.heading_indicator.torques import (
    Moment,
    gimbals_of,
    moment_at,
    shift_of_card,
    torques_of,
)


class Inside(NamedTuple):
    """Torques about the housing's and the outer gimbal's axis, and the motion that they bring.

    Attributes:
        inner_nm: about the housing's axis: unbalance, latitude balance, friction, the stop.
        outer_nm: about the outer gimbal's axis: levelling, balance, friction, a finger on the card.
        card_rad_s: rate of a level card by torques alone, Earth and travel left out.
        tilt_rad_s: rate of the housing about its axis in space, spin end up positive.
    """

    inner_nm: float
    outer_nm: float
    card_rad_s: float
    tilt_rad_s: float


@kernel
def _swinging(state: GyroState, m: Moment, gyro: Gyro, laws: Any) -> Inside:
    """The same of a gyro that is computed as a rigid body."""
    g = gimbals_of(state.spin_n, state.spin_e, state.spin_d, m)
    t = torques_of(g, m, gyro, laws)
    p = m.roll_rad_s * g.outer_cos + m.pitch_rad_s * g.outer_sin
    q = -m.roll_rad_s * g.outer_sin + m.pitch_rad_s * g.outer_cos
    gimbal = state.rest_gimbal_rad_s + state.levelling_gimbal_rad_s + state.balance_gimbal_rad_s
    housing = state.rest_housing_rad_s + state.levelling_housing_rad_s + state.balance_housing_rad_s
    inner_dry = dry(housing - q, gyro.inner_friction_nm * m.wear_factor, m.friction_rate_rad_s)
    outer_dry = dry(gimbal - m.yaw_rad_s, gyro.outer_friction_nm * m.wear_factor, m.friction_rate_rad_s)
    by_z = shift_of_card(state.spin_n, state.spin_e, g.y_n, g.y_e)
    by_y = -shift_of_card(state.spin_n, state.spin_e, g.z_n, g.z_e)
    return Inside(
        t.wander_inner_nm + t.balance_inner_nm + inner_dry + stop_torque_nm(g, housing - q, gyro),
        t.levelling_outer_nm + t.balance_outer_nm + outer_dry + m.finger_nm,
        (p * g.tilt_sin + gimbal * g.tilt_cos) * by_z + housing * by_y,
        housing,
    )


@kernel
def inside(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    i: int,
    share: float,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> Inside:
    """Torques and precession `share` of the way from sample i to i + 1; nothing where the gyro is held.

    Source: as `averaged.precession` and `rigid.swing_rates`.
    """
    if state.regime == HELD:
        return Inside(0.0, 0.0, 0.0, 0.0)
    m = moment_at(samples, drive, wander_nm, i, share, step_s, gyro, laws)
    if state.regime != AVERAGED:
        return _swinging(state, m, gyro, laws)
    r = precession(state.spin_n, state.spin_e, state.spin_d, 0.0, m, gyro, laws)
    by_torques = r.friction_rad_s + r.balance_rad_s + r.levelling_rad_s
    return Inside(r.inner_nm, r.outer_nm, by_torques, r.tilt_rad_s)
