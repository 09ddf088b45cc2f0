"""The gyro cases of the reference study, each through the engine's batch and step functions.

Source: tests/authorities/gyro_cases.json, rows G01 to G19: closed forms, most of them confirmed there by an
independent rigid-body model. Tolerances are the file's own.
"""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.gyro import (
    RIGID,
    Gyro,
    GyroLaws,
    Shares,
    balance_torque_nm,
    wander_torque_nm,
)
from lubberline.instruments.heading_indicator.rigid import rigid_step
from lubberline.instruments.suction.rotor import Rotor, rotor_step
from tests.instruments.heading_runs import (
    Shown,
    axis_in_gimbals,
    fly,
    gyro_of,
    samples_of,
    spin_down_drive,
    steady_drive,
)
from tests.references.base_motion import DEG, Attitude, BaseMotion, Floats, held
from tests.references.gyro_values import FREE, ROTOR_RAD_S, Values

PHYSICS = GyroLaws()

CASES = json.loads((Path(__file__).parents[1] / "authorities" / "gyro_cases.json").read_text("utf-8"))
# On the pole, and with its vertical rate off, the Earth does nothing: the closed forms know no Earth.
NO_EARTH = PHYSICS._replace(earth_sine=0.0)
POLE_DEG = 90.0


def case(name: str) -> dict[str, Any]:
    return next(one for one in CASES["cases"] if one["id"].startswith(name + "_"))


def expected(name: str) -> tuple[dict[str, Any], float]:
    one = case(name)
    return one["outputs"], one["tolerance"]


def fly_still(values: Values, duration_s: float, tilt_deg: float, drive: Any = None) -> Shown:
    samples = samples_of(BaseMotion(held()), duration_s, latitude_deg=POLE_DEG)
    return fly(samples, values, b_rad=tilt_deg * DEG, drive=drive, laws=NO_EARTH)


def test_the_file_is_of_the_gyro_that_the_engine_has() -> None:
    rotor, gimbals, gyro = CASES["rotor"], CASES["gimbals"], Gyro()
    assert rotor["J"] == gyro.rotor_inertia_kgm2
    assert rotor["Jt"] == gyro.rotor_cross_inertia_kgm2
    assert rotor["H"] == pytest.approx(gyro.full_momentum_nms, rel=1e-9)
    assert gimbals["outer"] == [
        gyro.outer_inertia_x_kgm2,
        gyro.outer_inertia_y_kgm2,
        gyro.outer_inertia_z_kgm2,
    ]
    assert gimbals["housing"] == [
        gyro.housing_inertia_x_kgm2,
        gyro.housing_inertia_y_kgm2,
        gyro.housing_inertia_z_kgm2,
    ]
    assert gimbals["stop_deg"] == pytest.approx(math.degrees(gyro.stop_rad))


@pytest.mark.parametrize(("name", "tilt_deg"), [("G01", 0.0), ("G02", 40.0)])
def test_g01_g02_precession(name: str, tilt_deg: float) -> None:
    outputs, tolerance = expected(name)
    inputs = case(name)["inputs"]
    assert inputs["tilt_deg"] == tilt_deg
    shown = fly_still(FREE._replace(inner_torque_nm=inputs["T_inner"]), 60.0, tilt_deg)
    assert -shown.card_deg[-1] == pytest.approx(outputs["alpha_deg"], abs=tolerance)
    assert shown.tilt_deg[-1] == pytest.approx(tilt_deg, abs=tolerance)


def steady_turn(bank_deg: float, rate_deg_s: float) -> BaseMotion:
    def attitude(time_s: Floats) -> Attitude:
        flat = np.zeros_like(time_s)
        return Attitude(rate_deg_s * DEG * time_s, flat, flat + bank_deg * DEG)

    return BaseMotion(attitude)


def peak_of(angle_deg: Floats, error_deg: Floats) -> tuple[float, float]:
    """Place and height of the greatest value, by a parabola through the three samples there."""
    k = int(np.argmax(error_deg))
    left, middle, right = error_deg[k - 1 : k + 2]
    share = 0.5 * (left - right) / (left - 2.0 * middle + right)
    place = angle_deg[k] + share * (angle_deg[k + 1] - angle_deg[k])
    return float(place), float(middle - 0.25 * (left - right) * share)


@pytest.mark.parametrize("name", ["G03", "G04"])
def test_g03_g04_gimballing(name: str) -> None:
    outputs, tolerance = expected(name)
    inputs = case(name)["inputs"]
    samples = samples_of(steady_turn(inputs["bank_deg"], inputs["rate_dps"]), 120.0, latitude_deg=POLE_DEG)
    shown = fly(samples, FREE, laws=NO_EARTH)
    true_deg = np.degrees(samples["heading_rad"])
    for true, card in outputs["card_by_true"].items():
        assert shown.card_deg[round(float(true) / inputs["rate_dps"] / STEP_S)] == pytest.approx(
            card, abs=tolerance
        )
    first = true_deg < 90.0
    place, height = peak_of(true_deg[first], (true_deg - shown.card_deg)[first])
    assert height == pytest.approx(outputs["peak_err_deg"], abs=tolerance)
    assert place == pytest.approx(outputs["at_true_heading_deg"], abs=0.02)  # the peak is flat
    assert shown.card_deg[-1] - 360.0 == pytest.approx(outputs["end_err_deg"], abs=tolerance)


def test_g05_climbing_turn() -> None:
    outputs, tolerance = expected("G05")
    inputs = case("G05")["inputs"]
    for heading, card in zip(inputs["true_heading_deg"], outputs["card"], strict=True):
        level = samples_of(BaseMotion(held(heading)), 0.2, latitude_deg=POLE_DEG)
        climbing = samples_of(
            BaseMotion(held(heading, inputs["pitch_deg"], inputs["bank_deg"])), 0.2, latitude_deg=POLE_DEG
        )
        north = axis_in_gimbals(level, -heading * DEG, 0.0)
        body = [
            sum(
                float(climbing[0][f"{axis}_{level}"]) * spin
                for level, spin in zip("ned", north[:3], strict=True)
            )
            for axis in ("nose", "wing", "floor")
        ]
        shown = fly(
            climbing, FREE, a_rad=math.atan2(body[1], body[0]), b_rad=-math.asin(body[2]), laws=NO_EARTH
        )
        assert shown.card_deg[0] % 360.0 == pytest.approx(card, abs=tolerance)


def test_g06_nutation_of_the_rigid_body() -> None:
    outputs, tolerance = expected("G06")
    step_s, count = 2e-4, 2500
    samples = samples_of(BaseMotion(held()), STEP_S, latitude_deg=POLE_DEG)
    drive = steady_drive(2)
    state = axis_in_gimbals(samples, 0.0, 0.0)._replace(regime=RIGID, shares=Shares(rest_housing=0.01))
    tilt_rad = np.empty(count)
    for k in range(count):
        tilt_rad[k] = -math.asin(state.spin_d)
        state = rigid_step(state, samples, drive, np.zeros(2), 0, step_s, gyro_of(FREE), NO_EARTH)
    up = np.flatnonzero((tilt_rad[:-1] < 0.0) & (tilt_rad[1:] >= 0.0))
    crossing_s = step_s * (up - tilt_rad[up] / (tilt_rad[up + 1] - tilt_rad[up]))
    frequency_hz = (len(crossing_s) - 1) / (crossing_s[-1] - crossing_s[0])
    assert frequency_hz == pytest.approx(outputs["freq_Hz"], abs=tolerance)


def drift_deg_h(
    values: Values,
    latitude_deg: float,
    *,
    east_mps: float = 0.0,
    load_factor: float = 1.0,
    momentum_share: float = 1.0,
    balance_latitude_deg: float | None = None,
    laws: GyroLaws = PHYSICS,
) -> float:
    """Drift of a level card on north over two minutes, in deg/h."""
    time_s = np.arange(1201) * STEP_S
    # Apparent gravity of n g with the wings level: the aircraft gathers speed upwards.
    down_mps = -(load_factor - 1.0) * 9.80665 * time_s
    samples = samples_of(
        BaseMotion(held()), 120.0, latitude_deg=latitude_deg, east_mps=east_mps, down_mps=down_mps
    )
    gyro = gyro_of(values)
    if balance_latitude_deg is not None:
        gyro = gyro._replace(balance_nm=balance_torque_nm(balance_latitude_deg, gyro.full_momentum_nms))
    drive = steady_drive(len(samples), momentum_share * ROTOR_RAD_S)
    shown = fly(samples, values, drive=drive, gyro=gyro, laws=laws)
    return float(shown.card_deg[-1] - shown.card_deg[0]) * 30.0


# In a shaken aircraft friction and levelling leave the wander alone, so both instruments must drift so.
@pytest.mark.parametrize("values", [FREE, Values()], ids=["free", "as built"])
@pytest.mark.parametrize("name", ["G09", "G10"])
def test_g09_g10_apparent_and_transport_wander(name: str, values: Values) -> None:
    outputs, tolerance = expected(name)
    inputs = case(name)["inputs"]
    drift = drift_deg_h(values, inputs["lat_deg"], east_mps=inputs["v_east_mps"])
    assert drift == pytest.approx(outputs["card_drift_deg_per_h"], abs=tolerance)


def test_g11_latitude_balance_set_for_45_north() -> None:
    outputs, tolerance = expected("G11")
    for latitude, rate in outputs["card_drift_deg_per_h"].items():
        drift = drift_deg_h(FREE, float(latitude), balance_latitude_deg=45.0)
        assert drift == pytest.approx(rate, abs=tolerance)


def test_g12_latitude_balance_with_a_slow_rotor() -> None:
    outputs, tolerance = expected("G12")
    drift = drift_deg_h(
        FREE, 45.0, balance_latitude_deg=45.0, momentum_share=case("G12")["inputs"]["H_ratio"]
    )
    assert drift == pytest.approx(outputs["card_drift_deg_per_h"], abs=tolerance)


def test_g13_latitude_balance_at_two_g() -> None:
    outputs, tolerance = expected("G13")
    drift = drift_deg_h(
        FREE, 45.0, balance_latitude_deg=45.0, load_factor=case("G13")["inputs"]["load_factor"]
    )
    assert drift == pytest.approx(outputs["card_drift_deg_per_h"], abs=tolerance)


@pytest.mark.parametrize(("latitude_deg", "sine"), [(0.0, 0.0), (30.0, 0.5), (-30.0, -0.5), (90.0, 1.0)])
def test_a_latitude_balance_goes_by_the_sine(latitude_deg: float, sine: float) -> None:
    """Momentum times the Earth's turning about the vertical; at 45 degrees a cosine would do as well."""
    assert balance_torque_nm(latitude_deg, 2.0) == pytest.approx(2.0 * 7.292115e-5 * sine, abs=1e-12)


def test_g14_torque_of_the_usual_allowance() -> None:
    outputs, tolerance = expected("G14")
    inputs = case("G14")["inputs"]
    torque = wander_torque_nm(inputs["drift_deg_per_15min"], inputs["H"])
    assert torque == pytest.approx(-outputs["mean_inner_torque"], abs=tolerance)
    shown = fly_still(FREE._replace(inner_torque_nm=torque), 90.0, 0.0)
    assert shown.card_deg[-1] == pytest.approx(0.3, abs=1e-3)


def test_g15_spin_down() -> None:
    outputs, tolerance = expected("G15")
    inputs = case("G15")["inputs"]
    rotor = Rotor(inertia_kgm2=inputs["J"], bearing_torque_nm=inputs["T0"], windage_nms2=inputs["c2"])
    count = 7000
    drive = steady_drive(count)
    for i in range(count - 1):
        here = drive["rotor_rad_s"][i]
        drive["rotor_rad_s"][i + 1], drive["spin_torque_nm"][i] = rotor_step(
            here, 0.0, 0.0, 1.0, 0.0, rotor, STEP_S
        )
    drive["spin_torque_nm"][-1] = drive["spin_torque_nm"][-2]
    rpm = drive["rotor_rad_s"] * 30.0 / math.pi
    rest_s = np.argmax(rpm == 0.0) * STEP_S
    assert rest_s == pytest.approx(outputs["time_to_rest_s"], abs=tolerance + STEP_S)
    assert rpm[3000] == pytest.approx(outputs["rpm_at_300s"], abs=0.1)
    assert rpm[6000] == pytest.approx(outputs["rpm_at_600s"], abs=0.1)
    shown = fly_still(FREE._replace(inner_torque_nm=inputs["T_inner"]), 610.0, 0.0, drive=drive[:6101].copy())
    turned = -shown.card_deg
    for second, angle in zip((100, 300, 600), outputs["drift_deg_at"], strict=True):
        assert turned[10 * second] == pytest.approx(angle, abs=tolerance)
    rates = np.gradient(turned, STEP_S, edge_order=2) * 900.0
    for second, rate in zip((0, 300, 600), outputs["drift_rate_deg_per_15min_at"], strict=True):
        assert rates[10 * second] == pytest.approx(rate, abs=tolerance)


def test_g16_tilt_grows_in_a_spin_down() -> None:
    outputs, tolerance = expected("G16")
    inputs = case("G16")["inputs"]
    values = FREE._replace(drag_nm=inputs["T0"], drag_square=inputs["c2"])
    drive = spin_down_drive(np.arange(5901) * STEP_S, values)
    shown = fly_still(values, 590.0, inputs["tilt0_deg"], drive=drive)
    assert shown.tilt_deg[4000] == pytest.approx(outputs["tilt_at_400s"], abs=tolerance)
    assert shown.tilt_deg[5000] == pytest.approx(outputs["tilt_at_500s"], abs=tolerance)
    contact_s = np.argmax(shown.on_stop > 0.0) * STEP_S
    assert contact_s == pytest.approx(outputs["stop_contact_s"], abs=tolerance + STEP_S)


def test_g17_levelling() -> None:
    outputs, tolerance = expected("G17")
    inputs = case("G17")["inputs"]
    shown = fly_still(FREE._replace(levelling_nm=inputs["kL"]), inputs["time_s"], inputs["tilt0_deg"])
    assert shown.tilt_deg[-1] == pytest.approx(outputs["tilt_deg"], abs=tolerance)
    slope = np.log(np.sin(shown.tilt_deg[[0, -1]] * DEG))
    assert inputs["time_s"] / (slope[0] - slope[1]) == pytest.approx(outputs["tau_s"], abs=0.1)


def test_g18_the_earth_tilts_an_axis_that_points_east() -> None:
    outputs, tolerance = expected("G18")
    inputs = case("G18")["inputs"]
    samples = samples_of(BaseMotion(held()), 4000.0, latitude_deg=inputs["lat"])
    values = FREE._replace(levelling_nm=inputs["kL"])
    gyro = gyro_of(values)
    gyro = gyro._replace(balance_nm=balance_torque_nm(inputs["lat"], gyro.full_momentum_nms))
    shown = fly(samples, values, a_rad=90.0 * DEG, gyro=gyro)
    assert shown.tilt_deg[15000] == pytest.approx(outputs["tilt_at_1500s_deg"], abs=tolerance)
    assert shown.tilt_deg[-1] == pytest.approx(outputs["steady_tilt_deg"], abs=tolerance)


def contact_deg(axis: str, from_axis_deg: float, top_deg: float = 94.0) -> float | None:
    """Pitch or bank at which the housing first meets its stop, in a slow swing of 0.2 deg/s from 80."""

    def attitude(time_s: Floats) -> Attitude:
        swing, flat = (80.0 + 0.2 * time_s) * DEG, np.zeros_like(time_s)
        return Attitude(flat, swing, flat) if axis == "pitch" else Attitude(flat, flat, swing)

    samples = samples_of(BaseMotion(attitude), (top_deg - 80.0) / 0.2, latitude_deg=POLE_DEG)
    # The axis lies level at `from_axis_deg` to the right of the nose; the file's headings count from it.
    n, e = math.cos(from_axis_deg * DEG), math.sin(from_axis_deg * DEG)
    body = [samples[0][f"{part}_n"] * n + samples[0][f"{part}_e"] * e for part in ("nose", "wing", "floor")]
    shown = fly(samples, FREE, a_rad=math.atan2(body[1], body[0]), b_rad=-math.asin(body[2]), laws=NO_EARTH)
    if not shown.on_stop.any():
        return None
    return float(np.degrees(samples[f"{axis}_rad"][np.argmax(shown.on_stop > 0.0)]))


def test_g19_stop_contact() -> None:
    outputs, tolerance = expected("G19")
    assert contact_deg("pitch", 0.0) == pytest.approx(outputs["pitch_contact_ps0"], abs=tolerance)
    assert contact_deg("pitch", 3.0) == pytest.approx(outputs["pitch_contact_ps3"], abs=tolerance)
    assert contact_deg("pitch", 5.2) is outputs["pitch_contact_ps5_2"] is None
    assert contact_deg("bank", 90.0) == pytest.approx(outputs["bank_contact_ps90"], abs=tolerance)
    greatest = outputs["max_ps_for_any_pitch_contact"]
    assert contact_deg("pitch", greatest - tolerance) is not None
    assert contact_deg("pitch", greatest + tolerance) is None
