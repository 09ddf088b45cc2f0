"""The rotor against the closed form of its run-down, and against the balance of its torques."""

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.instruments.suction.rotor import (
    Rotor,
    rotor_step,
    run_down_s,
    steady_speed_rad_s,
    wear_factor,
)
from lubberline.units import RAD_PER_RPM

CASES = Path(__file__).parents[1] / "authorities" / "gyro_cases.json"
SPIN_DOWN = next(
    case for case in json.loads(CASES.read_text(encoding="utf-8"))["cases"] if case["id"] == "G15_spindown"
)
INPUTS, OUTPUTS = SPIN_DOWN["inputs"], SPIN_DOWN["outputs"]
STUDY = Rotor(inertia_kgm2=INPUTS["J"], bearing_torque_nm=INPUTS["T0"], windage_nms2=INPUTS["c2"])


def _run_down(rotor: Rotor, from_rad_s: float, step_s: float) -> tuple[float, list[float]]:
    """Time to rest by steps (the last one cut where the speed is nil), and the speed at each step."""
    speeds = [from_rad_s]
    while speeds[-1] > 0.0:
        speeds.append(rotor_step(speeds[-1], 0.0, 0.0, 1.0, 0.0, rotor, step_s)[0])
    last_s = speeds[-2] * rotor.inertia_kgm2 / rotor.bearing_torque_nm
    return (len(speeds) - 2) * step_s + last_s, speeds


# tests/authorities/gyro_cases.json, G15_spindown; its tolerance in s, and half the last printed digit in rpm.
def test_run_down_is_that_of_the_published_case() -> None:
    time_s, speeds = _run_down(STUDY, INPUTS["rpm0"] * RAD_PER_RPM, 0.1)
    assert time_s == pytest.approx(OUTPUTS["time_to_rest_s"], abs=0.05)
    assert speeds[3000] / RAD_PER_RPM == pytest.approx(OUTPUTS["rpm_at_300s"], abs=0.06)
    assert speeds[6000] / RAD_PER_RPM == pytest.approx(OUTPUTS["rpm_at_600s"], abs=0.06)
    closed = run_down_s(INPUTS["rpm0"] * RAD_PER_RPM, 1.0, 0.0, STUDY)
    assert closed == pytest.approx(OUTPUTS["time_to_rest_s"], abs=0.05)


# The same case: drift in deg/15 min at 0, 300 and 600 s is torque over momentum.
def test_drift_grows_as_the_published_case_says_while_the_rotor_slows() -> None:
    full = INPUTS["rpm0"] * RAD_PER_RPM
    _, speeds = _run_down(STUDY, full, 0.1)
    for speed, drift in zip(
        (full, speeds[3000], speeds[6000]), OUTPUTS["drift_rate_deg_per_15min_at"], strict=True
    ):
        rate = math.degrees(INPUTS["T_inner"] / (INPUTS["J"] * speed)) * 900.0
        assert rate == pytest.approx(drift, rel=0.002)


def test_a_step_ten_times_as_long_changes_the_run_down_by_less_than_a_fifth_of_a_second() -> None:
    fine, _ = _run_down(STUDY, 1250.0, 0.1)
    coarse, _ = _run_down(STUDY, 1250.0, 1.0)
    assert coarse == pytest.approx(fine, abs=0.2)


speeds = st.floats(0.0, 2500.0)
densities = st.floats(0.3, 1.3)
wear = st.floats(0.0, 2.0)


@given(push=st.floats(0.0, 1e-3), fall=st.floats(1e-9, 1e-6), density=densities, worn=wear)
def test_the_steady_speed_is_where_a_step_changes_nothing(
    push: float, fall: float, density: float, worn: float
) -> None:
    rotor = Rotor()
    speed = steady_speed_rad_s(push, fall, density, worn, rotor)
    after, torque = rotor_step(speed, push, fall, density, worn, rotor, 0.1)
    assert abs(torque) < 1e-15
    assert after == pytest.approx(speed, abs=1e-9)
    friction = rotor.bearing_torque_nm * (1.0 + 2.0 * worn)
    assert (speed > 0.0) == (push > friction)


@given(
    speed=speeds,
    push=st.floats(0.0, 1e-3),
    fall=st.floats(0.0, 1e-6),
    density=densities,
    worn=wear,
    step_s=st.floats(1e-3, 1e3),
)
def test_the_reported_torque_is_what_changed_the_speed_and_no_step_runs_away(
    speed: float, push: float, fall: float, density: float, worn: float, step_s: float
) -> None:
    rotor = Rotor()
    after, torque = rotor_step(speed, push, fall, density, worn, rotor, step_s)
    assert rotor.inertia_kgm2 * (after - speed) == pytest.approx(torque * step_s, rel=1e-9, abs=1e-15)
    assert 0.0 <= after < 2e4


def test_a_stopped_rotor_starts_only_when_the_push_exceeds_the_friction() -> None:
    rotor = Rotor()
    assert rotor_step(0.0, 0.99 * rotor.bearing_torque_nm, 0.0, 1.0, 0.0, rotor, 0.1) == (0.0, 0.0)
    assert rotor_step(0.0, 0.99 * rotor.bearing_torque_nm, 0.0, 1.0, 0.0, rotor, 0.0) == (0.0, 0.0)
    started, torque = rotor_step(0.0, 1.01 * rotor.bearing_torque_nm, 0.0, 1.0, 0.0, rotor, 0.1)
    assert started > 0.0
    assert torque > 0.0


def test_thin_air_and_good_bearings_let_it_run_longer() -> None:
    times = [run_down_s(1300.0, density, 0.0, Rotor()) for density in (0.5, 0.8, 1.0)]
    assert times == sorted(times, reverse=True)
    times = [run_down_s(1300.0, 1.0, worn, Rotor()) for worn in (0.0, 0.5, 1.0)]
    assert times == sorted(times, reverse=True)


# The size is the study's, whose worn instrument drifts 8.9 where speed alone would give 3.6 deg/15 min.
def test_worn_bearings_raise_the_wander_torque_two_and_a_half_fold() -> None:
    assert wear_factor(0.0, Rotor()) == 1.0
    assert wear_factor(1.0, Rotor()) == pytest.approx(8.9 / (3.0 * 12_000 / 10_000), rel=0.02)
