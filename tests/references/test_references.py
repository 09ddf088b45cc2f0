"""The references themselves, against closed forms and against each other."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from tests.references.base_motion import DEG, BaseMotion, held, level_rate, rough, turn
from tests.references.gyro_values import FREE, ROTOR_RAD_S, SPINNING_DOWN, Values
from tests.references.rigid_body import simulate_rigid_body
from tests.references.rigid_equations import RigidTrace, solve_equations

STILL = BaseMotion(held())
SPIN_NMS = FREE.rotor_j * ROTOR_RAD_S
Reference = Callable[..., RigidTrace]
BOTH = pytest.mark.parametrize("reference", [simulate_rigid_body, solve_equations])


@BOTH
@pytest.mark.parametrize("tilt_deg", [0.0, 40.0])
def test_precession_is_torque_over_momentum_and_cosine_of_tilt(reference: Reference, tilt_deg: float) -> None:
    values = FREE._replace(inner_torque_nm=1e-4)
    shown = reference(STILL, 8.0, values=values, b_rad=tilt_deg * DEG)
    expected = -math.degrees(1e-4 * 8.0 / SPIN_NMS / math.cos(tilt_deg * DEG))
    assert shown.card_deg[-1] == pytest.approx(expected, abs=1e-5)
    assert shown.tilt_deg[-1] == pytest.approx(tilt_deg, abs=1e-5)


def test_nutation_goes_at_momentum_over_the_mean_inertia() -> None:
    # Closed form H / (2 pi sqrt(Ii Io)) with the inertias about the inner and outer axes.
    shown = simulate_rigid_body(
        STILL, 0.5, values=FREE, step_s=1e-4, every_s=1e-4, gimbal_rates_rad_s=(0.0, 0.01)
    )
    signs = shown.tilt_deg - shown.tilt_deg.mean()
    up = np.flatnonzero((signs[:-1] < 0.0) & (signs[1:] >= 0.0))
    crossing_s = shown.time_s[up] - signs[up] * 1e-4 / (signs[up + 1] - signs[up])
    frequency_hz = (len(crossing_s) - 1) / (crossing_s[-1] - crossing_s[0])
    inner, outer = FREE.housing_y + FREE.rotor_jt, FREE.outer_z + FREE.housing_z + FREE.rotor_jt
    assert frequency_hz == pytest.approx(SPIN_NMS / (2.0 * math.pi * math.sqrt(inner * outer)), abs=0.01)


@BOTH
def test_a_free_gyro_shows_the_gimballing_of_a_universal_joint(reference: Reference) -> None:
    attitude, _ = turn(bank_deg=30.0, rate_deg_s=6.0, heading_change_deg=60.0, start_s=0.0)
    base = BaseMotion(attitude)
    shown = reference(base, 12.0, values=FREE)
    heading, _, bank = base.attitude(shown.time_s)
    expected = np.unwrap(np.arctan2(np.sin(heading) * np.cos(bank), np.cos(heading)))
    # The gimbal's own inertia adds 0.0015 deg in a roll as quick as this one.
    np.testing.assert_allclose(shown.card_deg, np.degrees(expected), atol=3e-3)


@BOTH
def test_the_earth_turns_under_a_free_gyro(reference: Reference) -> None:
    base = BaseMotion(held(), level_rate(45.0))
    shown = reference(base, 15.0, values=FREE)
    assert shown.card_deg[-1] == pytest.approx(-15.041067 * math.sin(45.0 * DEG) * 15.0 / 3600.0, rel=1e-3)


@BOTH
def test_tilt_grows_in_a_spin_down_as_momentum_about_the_outer_axis_is_kept(reference: Reference) -> None:
    values = SPINNING_DOWN._replace(outer_friction_nm=0.0, inner_friction_nm=0.0, drag_nm=6e-3)
    shown = reference(STILL, 6.0, values=values, b_rad=5.0 * DEG)
    kept = shown.rotor_rad_s * np.sin(shown.tilt_deg * DEG)
    np.testing.assert_allclose(kept, ROTOR_RAD_S * math.sin(5.0 * DEG), rtol=1e-3)
    assert shown.tilt_deg[-1] > 9.0


def test_the_two_references_agree_with_friction_levelling_and_rough_air() -> None:
    attitude, end_s = turn(bank_deg=45.0, rate_deg_s=6.0, heading_change_deg=45.0)
    base = BaseMotion(
        rough(attitude, seed=3, heading_deg=2.0, pitch_deg=2.0, bank_deg=5.0), level_rate(45.0, 20.0, 50.0)
    )
    values = Values(inner_torque_nm=1e-5)
    body = simulate_rigid_body(base, end_s, values=values, b_rad=0.05)
    equations = solve_equations(base, end_s, values=values, b_rad=0.05)
    np.testing.assert_allclose(body.card_deg, equations.card_deg, atol=1e-3)
    np.testing.assert_allclose(body.tilt_deg, equations.tilt_deg, atol=1e-3)
