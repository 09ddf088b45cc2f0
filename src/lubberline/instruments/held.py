"""The gyro held fast in its case: caged, or a rotor all but stopped that bearing friction holds."""

from __future__ import annotations

import math
from typing import Any

from lubberline.compiled import kernel
from lubberline.instruments.gimbals import shift_by_frame
from lubberline.instruments.gyro import HELD, Gyro, GyroState
from lubberline.instruments.moment import moment_at


@kernel
def held_step(
    state: GyroState,
    samples: Any,
    drive: Any,
    wander_nm: Any,
    i: int,
    step_s: float,
    gyro: Gyro,
    laws: Any,
) -> GyroState:
    """From sample i to i + 1 with the axis fixed in the body.

    What holds it turns it with the body, and that turning in inertial space is booked as friction: the
    body's turning against the level frame, and against the Earth's and the travel's turning of that.
    """
    a, b = samples[i], samples[i + 1]
    n, e, d = state.spin_n, state.spin_e, state.spin_d
    forward = a.nose_n * n + a.nose_e * e + a.nose_d * d
    right = a.wing_n * n + a.wing_e * e + a.wing_d * d
    down = a.floor_n * n + a.floor_e * e + a.floor_d * d
    next_n = forward * b.nose_n + right * b.wing_n + down * b.floor_n
    next_e = forward * b.nose_e + right * b.wing_e + down * b.floor_e
    next_d = forward * b.nose_d + right * b.wing_d + down * b.floor_d
    turned = math.atan2(n * next_e - e * next_n, n * next_n + e * next_e)
    m = moment_at(samples, drive, wander_nm, i, 0.5, step_s, gyro, laws)
    earth = step_s * shift_by_frame(n, e, d, m.earth_north_rad_s, 0.0, m.earth_down_rad_s)
    travel = step_s * shift_by_frame(n, e, d, m.travel_north_rad_s, m.travel_east_rad_s, m.travel_down_rad_s)
    length = math.sqrt(next_n * next_n + next_e * next_e + next_d * next_d)
    return GyroState(
        next_n / length,
        next_e / length,
        next_d / length,
        state.knob_rad,
        HELD,
        state.caged,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        state.earth_rad + earth,
        state.travel_rad + travel,
        state.friction_rad - turned - earth - travel,
        state.balance_rad,
        state.levelling_rad,
        state.tumble_rad,
        state.seeking_rad,
        0.0,
        0.0,
        0.0,
    )
