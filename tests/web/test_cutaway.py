"""The cutaway in a browser: what is drawn is measured in the drawn geometry, not in its inputs.

The laws it must obey: torque is the rate of change of angular momentum, T = precession x H (any textbook
of mechanics), so that the axis goes toward the torque; equal mitre gears turn by equal angles; a free
gyro's axis stays while the case turns about it. The way of the gears, jets and stops: common practice,
no source.
"""

import json
import math
from typing import Any

import numpy as np
import pytest

from lubberline.instruments.heading_indicator.averaged import precession
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroLaws
from lubberline.instruments.heading_indicator.torques import Moment, gimbals_of
from tests.web.cutaway_page import drawn

pytestmark = pytest.mark.browser

ATTITUDES = [(0, 0, 0), (75, 0, 45), (200, 20, -60), (310, -35, 10), (140, 70, 150)]


def flown(
    heading: float, pitch: float, bank: float, axis: float, lift: float = 0.0, card: float = 0.0
) -> str:
    names = ("heading_deg", "pitch_deg", "bank_deg", "axis_deg", "lift_deg", "set_deg")
    values = dict(zip(names, (heading, pitch, bank, axis, lift, card), strict=True))
    return f"probe.frameOf({json.dumps(values)}, 1)"


def level_axis(azimuth_deg: float, lift_deg: float) -> np.ndarray:
    a, e = math.radians(azimuth_deg), math.radians(lift_deg)
    return np.array([math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), -math.sin(e)])


def test_the_drawn_card_shows_the_indicated_heading_under_the_lubber_line(drawing):
    frame = flown(120, 0, 0, 40)
    for indicated in (0, 37.5, 90, 183, 359):
        changed = f"(f => ({{...f, shown: {{...f.shown, indicated_deg: {indicated}}}}}))({frame})"
        measured = drawn(drawing, changed)
        assert math.remainder(measured["card_deg"] - indicated, 360) == pytest.approx(0, abs=1e-6)


def test_the_axis_stays_while_the_case_turns_about_it(drawing):
    for attitude in ATTITUDES:
        measured = drawn(drawing, flown(*attitude, 65, 8))
        assert measured["spin"] == pytest.approx(level_axis(65, 8), abs=1e-9), attitude


def test_the_gears_carry_the_gimbals_turn_to_the_card(drawing):
    first = drawn(drawing, flown(10, 0, 0, 40, 0, 25))
    second = drawn(drawing, flown(75, 0, 0, 40, 0, 25))
    for measured in (first, second):
        assert measured["gear_deg"] == pytest.approx(measured["gimbal_deg"], abs=1e-6)
    turned = math.remainder(second["card_deg"] - first["card_deg"], 360)
    assert turned == pytest.approx(65, abs=1e-6), "a right turn of 65 must raise the reading by 65"
    assert second["gimbal_deg"] - first["gimbal_deg"] == pytest.approx(-65, abs=1e-6)
    # Rolled on each other without slip: where they mesh, both rims go the same way at the same speed.
    mesh = np.array([-1.0, 0.0, 1.0])
    gimbal = np.cross([0, 0, second["gimbal_deg"] - first["gimbal_deg"]], mesh)
    gear = np.cross([second["gear_deg"] - first["gear_deg"], 0, 0], mesh)
    assert gear == pytest.approx(gimbal, abs=1e-6)


def test_the_jets_blow_in_the_sense_of_rotation(drawing):
    for attitude in ATTITUDES[:3]:
        measured = drawn(drawing, flown(*attitude, 65), "{showAir: true}")
        # The nozzles are on the vertical gimbal: a tilted rim leaves their plane a little.
        assert np.dot(measured["jet"], measured["rim_motion"]) > 0.9, attitude


def test_precession_is_at_right_angles_and_takes_the_axis_toward_the_torque(drawing):
    for inner, outer in ((3e-6, 0), (0, 1e-3), (0, -1e-3), (-2e-5, 4e-5)):
        for lift in (0, 25):
            precesses_rightly(drawing, inner, outer, lift)


def precesses_rightly(page: Any, inner: float, outer: float, lift: float) -> None:
    torques = f"{{torque_inner_nm: {inner}, torque_outer_nm: {outer}}}"
    frame = f"probe.withGyro({flown(30, 5, 20, 65, lift)}, {torques})"
    measured = drawn(page, frame, "{showArrows: true}")
    spin, torque = np.array(measured["spin"]), np.array(measured["torque"])
    turning, going = np.array(measured["precession"]), np.array(measured["going"])
    assert np.dot(turning, spin) == pytest.approx(0, abs=1e-9)
    assert np.dot(turning, torque) == pytest.approx(0, abs=1e-9)
    across = torque - np.dot(torque, spin) * spin
    expected = across / np.linalg.norm(across)
    assert np.cross(turning, spin) == pytest.approx(expected, abs=1e-9)
    assert going == pytest.approx(expected, abs=1e-9)


def engine_moment(heading: float, pitch: float, bank: float, finger_nm: float) -> Moment:
    """The engine's moment in an attitude, with the finger's torque alone."""
    (sh, ch), (sp, cp), (sb, cb) = (
        (math.sin(math.radians(angle)), math.cos(math.radians(angle))) for angle in (heading, pitch, bank)
    )
    axes = {
        "nose": (cp * ch, cp * sh, -sp),
        "wing": (sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * cp),
        "floor": (cb * sp * ch + sb * sh, cb * sp * sh - sb * ch, cb * cp),
    }
    named = {
        f"{axis}_{way}": value
        for axis, values in axes.items()
        for way, value in zip("ned", values, strict=True)
    }
    still = dict.fromkeys(Moment._fields, 0.0) | {"friction_rate_rad_s": 1.0, "momentum_nms": 0.0724}
    return Moment(**still | named | {"finger_nm": finger_nm})


@pytest.mark.parametrize("finger_nm", [0.001, -0.0004])
def test_the_picture_of_an_engines_gyro_has_its_axis_and_goes_where_the_engine_takes_it(drawing, finger_nm):
    attitude, axis = (75, 10, 30), level_axis(65, 8)
    moment = engine_moment(*attitude, finger_nm)
    gimbals = gimbals_of(*axis, moment)
    outer = math.degrees(math.atan2(gimbals.outer_sin, gimbals.outer_cos))
    tilt = math.degrees(math.atan2(gimbals.tilt_sin, gimbals.tilt_cos))
    still = Gyro(outer_friction_nm=0.0, inner_friction_nm=0.0)
    moved = precession(*axis, 0.0, moment, still, GyroLaws())
    change = {"outer_deg": outer, "tilt_deg": tilt, "torque_outer_nm": finger_nm, "finger_nm": finger_nm}
    frame = f"probe.withGyro({flown(*attitude, 0)}, {json.dumps(change)})"
    measured = drawn(drawing, frame, "{showArrows: true}")
    assert measured["spin"] == pytest.approx(axis, abs=1e-9)
    rate = np.array([moved.spin_n, moved.spin_e, moved.spin_d])
    assert measured["going"] == pytest.approx(rate / np.linalg.norm(rate), abs=1e-6)
