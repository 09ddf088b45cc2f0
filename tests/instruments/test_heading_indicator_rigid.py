"""The heading indicator against a rigid body in MuJoCo, past the same motion under the same torques.

MuJoCo is a general engine for rigid bodies that knows nothing of gyroscopes; `tests/references` holds
the model and its own checks. The Earth turns under both, and both travel north-east at 54 m/s.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from lubberline.flight.motion import STEP_S
from tests.instruments.heading_runs import Shown, fly, samples_of, spin_down_drive, steady_drive
from tests.references.base_motion import (
    DEG,
    Attitude,
    BaseMotion,
    Floats,
    held,
    level_rate,
    ramp,
    rough,
    turn,
)
from tests.references.gyro_values import FREE, ROTOR_RAD_S, SPINNING_DOWN, Values
from tests.references.rigid_body import simulate_rigid_body
from tests.references.rigid_equations import RigidTrace

WITHIN_DEG = 0.05
PLACE = {"latitude_deg": 45.0, "north_mps": 20.0, "east_mps": 50.0}
LEVEL_RATE = level_rate(*PLACE.values())
FINE_S = 5e-4
AS_BUILT = Values(inner_torque_nm=4.2e-6)


Flight = Callable[[Floats], Attitude]


def fly_both(
    attitude: Flight,
    duration_s: float,
    values: Values,
    *,
    a_deg: float = 0.0,
    b_deg: float = 0.0,
    rotor_share: float = 1.0,
    drive: NDArray[np.void] | None = None,
    step_s: float = 0.002,
) -> tuple[RigidTrace, Shown]:
    base = BaseMotion(attitude, LEVEL_RATE)
    speed = rotor_share * ROTOR_RAD_S
    body = simulate_rigid_body(
        base,
        duration_s,
        values=values,
        a_rad=a_deg * DEG,
        b_rad=b_deg * DEG,
        rotor_rad_s=speed,
        step_s=step_s,
    )
    samples = samples_of(base, duration_s, **PLACE)
    if drive is None:
        drive = steady_drive(len(samples), speed)
    return body, fly(samples, values, a_rad=a_deg * DEG, b_rad=b_deg * DEG, drive=drive)


def assert_same(body: RigidTrace, shown: Shown, within_deg: float = WITHIN_DEG) -> None:
    np.testing.assert_allclose(shown.card_deg, body.card_deg, atol=within_deg, rtol=0.0)
    np.testing.assert_allclose(shown.tilt_deg, body.tilt_deg, atol=within_deg, rtol=0.0)


def two_turns(bank_deg: float, rate_deg_s: float = 6.0, degrees: float = 720.0) -> tuple[Flight, float]:
    attitude, level_s = turn(bank_deg=bank_deg, rate_deg_s=rate_deg_s, heading_change_deg=degrees)
    return attitude, math.ceil(level_s) + 5.0


@pytest.mark.parametrize("tilt_deg", [0.0, -30.0])
def test_precession_under_a_constant_torque(tilt_deg: float) -> None:
    body, shown = fly_both(held(70.0), 20.0, FREE._replace(inner_torque_nm=1e-4), a_deg=20.0, b_deg=tilt_deg)
    assert abs(shown.card_deg[-1] - shown.card_deg[0]) > 1.3
    assert_same(body, shown, 0.002)


long = pytest.mark.acceptance


@pytest.mark.parametrize(
    ("bank_deg", "rate_deg_s"),
    [
        (60.0, 6.0),
        *(pytest.param(bank, rate, marks=long) for bank in (30.0, 45.0, 60.0) for rate in (3.0, 6.0)),
    ],
)
def test_two_full_turns_with_friction_and_levelling(bank_deg: float, rate_deg_s: float) -> None:
    attitude, duration_s = two_turns(bank_deg, rate_deg_s)
    body, shown = fly_both(attitude, duration_s, AS_BUILT, a_deg=25.0)
    assert_same(body, shown, 0.01)


def test_a_latitude_balance_in_a_turn() -> None:
    # Ten times the torque that 45 N needs, so that its work about both axes shows; the turn slips, since
    # the model's gravity stays straight down.
    attitude, duration_s = two_turns(45.0, degrees=360.0)
    values = AS_BUILT._replace(balance_nm=3.7e-5)
    body, shown = fly_both(attitude, duration_s, values, a_deg=30.0, b_deg=5.0)
    assert_same(body, shown, 0.01)


def test_rough_air() -> None:
    attitude = rough(held(40.0), seed=1, heading_deg=3.0, pitch_deg=3.0, bank_deg=8.0)
    body, shown = fly_both(attitude, 60.0, AS_BUILT, a_deg=40.0, b_deg=2.0)
    assert_same(body, shown, 0.02)


def test_turns_in_rough_air() -> None:
    attitude, duration_s = two_turns(45.0, degrees=360.0)
    attitude = rough(attitude, seed=2, heading_deg=3.0, pitch_deg=3.0, bank_deg=8.0)
    body, shown = fly_both(attitude, duration_s, AS_BUILT, a_deg=10.0)
    assert_same(body, shown, 0.02)


@pytest.mark.parametrize(
    ("share", "bank_deg", "rate_deg_s"),
    [
        (0.2, 30.0, 3.0),
        (0.04, 45.0, 6.0),
        *(pytest.param(share, bank, 3.0, marks=long) for share in (0.2, 0.1, 0.04) for bank in (30.0, 45.0)),
    ],
)
def test_a_slow_rotor_in_a_turn(share: float, bank_deg: float, rate_deg_s: float) -> None:
    attitude, duration_s = two_turns(bank_deg, rate_deg_s, 360.0)
    body, shown = fly_both(attitude, duration_s, AS_BUILT, rotor_share=share)
    assert abs(body.card_deg[-1] - 360.0) > (1.0 if share == 0.2 else 5.0)
    assert_same(body, shown)


def test_a_quick_roll_of_80_degrees() -> None:
    def attitude(time_s: Floats) -> Attitude:
        flat = np.zeros_like(time_s)
        roll = ramp(time_s, 2.0, 2.0) - ramp(time_s, 6.0, 2.0)
        return Attitude(flat, flat, 80.0 * DEG * roll)

    body, shown = fly_both(attitude, 10.0, AS_BUILT, a_deg=35.0)
    assert_same(body, shown)


def spin_down_with_tilt(rotor_share: float, duration_s: float, tilt_deg: float) -> tuple[RigidTrace, Shown]:
    time_s = np.arange(round(duration_s / STEP_S) + 1) * STEP_S
    drive = spin_down_drive(time_s, SPINNING_DOWN, rotor_share * ROTOR_RAD_S)
    values = SPINNING_DOWN._replace(inner_torque_nm=4.2e-6)
    return fly_both(held(), duration_s, values, b_deg=tilt_deg, rotor_share=rotor_share, drive=drive)


def test_a_spin_down_with_tilt() -> None:
    body, shown = spin_down_with_tilt(0.2, 80.0, 12.0)
    assert shown.tilt_deg[-1] > 19.0
    assert_same(body, shown)


@long
def test_a_whole_spin_down_with_tilt() -> None:
    body, shown = spin_down_with_tilt(1.0, 570.0, 5.0)
    assert shown.tilt_deg[-1] > 60.0
    assert_same(body, shown)


def swing_past(axis: str, top_deg: float) -> Flight:
    """Pitch or bank swung from level to `top_deg` in 6 s and held there."""

    def attitude(time_s: Floats) -> Attitude:
        flat = np.zeros_like(time_s)
        angle = top_deg * DEG * ramp(time_s, 2.0, 6.0)
        return Attitude(flat, angle, flat) if axis == "pitch" else Attitude(flat, flat, angle)

    return attitude


def first_s(flags: NDArray[np.bool_]) -> float:
    return float(np.argmax(flags)) * STEP_S if flags.any() else math.inf


def assert_same_tumble(body: RigidTrace, shown: Shown) -> None:
    """Same moment of contact, same moment and direction of the card's half turn; its end is chaotic."""
    stop_deg = math.degrees(AS_BUILT.stop_rad) - 0.1
    assert first_s(np.abs(body.tilt_deg) >= stop_deg) == pytest.approx(
        first_s(np.abs(shown.tilt_deg) >= stop_deg), abs=0.2
    )
    turned_body, turned_shown = body.card_deg - body.card_deg[0], shown.card_deg - shown.card_deg[0]
    moment_s = first_s(np.abs(turned_body) > 90.0)
    assert math.isfinite(moment_s)
    assert first_s(np.abs(turned_shown) > 90.0) == pytest.approx(moment_s, abs=0.2)
    assert np.sign(turned_body[-1]) == np.sign(turned_shown[-1])
    assert abs(turned_body[-1] - turned_shown[-1]) < 20.0


@pytest.mark.parametrize("off_deg", [-1.5, 2.5])
@pytest.mark.parametrize(("axis", "top_deg"), [("pitch", 95.0), ("pitch", -95.0), ("bank", 95.0)])
def test_passing_the_stop(axis: str, top_deg: float, off_deg: float) -> None:
    a_deg = off_deg + (90.0 if axis == "bank" else 0.0)
    body, shown = fly_both(swing_past(axis, top_deg), 10.0, AS_BUILT, a_deg=a_deg, step_s=FINE_S)
    assert shown.on_stop.any()
    assert_same_tumble(body, shown)


@long
@pytest.mark.parametrize("a_deg", np.arange(-180.0, 180.0, 12.0))
@pytest.mark.parametrize(
    ("axis", "top_deg"), [("pitch", 95.0), ("pitch", -95.0), ("bank", 95.0), ("bank", -95.0)]
)
def test_passing_the_vertical_from_anywhere(axis: str, top_deg: float, a_deg: float) -> None:
    body, shown = fly_both(swing_past(axis, top_deg), 10.0, AS_BUILT, a_deg=a_deg + 1.0, step_s=FINE_S)
    along = math.cos((a_deg + 1.0) * DEG) if axis == "pitch" else math.sin((a_deg + 1.0) * DEG)
    if abs(along) > math.sin(AS_BUILT.stop_rad):
        assert_same_tumble(body, shown)
    elif abs(along) < 0.9:
        assert_same(body, shown)


@long
@pytest.mark.parametrize("rotor_share", [1.0, 0.5])
def test_half_an_hour_of_turns_in_rough_air(rotor_share: float) -> None:
    smooth = [two_turns(bank, 3.0, 360.0)[0] for bank in (20.0, 30.0, 45.0)]

    def turning(time_s: Floats) -> Attitude:
        parts = [turn_of(time_s - 600.0 * k) for k, turn_of in enumerate(smooth)]
        return Attitude(*(np.sum([part[axis] for part in parts], axis=0) for axis in range(3)))

    attitude = rough(turning, seed=5, heading_deg=2.0, pitch_deg=2.0, bank_deg=5.0)
    body, shown = fly_both(attitude, 1800.0, AS_BUILT, a_deg=50.0, rotor_share=rotor_share)
    assert_same(body, shown)
