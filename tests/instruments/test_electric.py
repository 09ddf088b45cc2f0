"""The electric drive: it holds its supply's speed, and fails with the supply."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight.motion import SAMPLE
from lubberline.instruments.faults import HEALTHY, Faults
from lubberline.instruments.suction.drive import (
    ElectricDrive,
    ElectricState,
    electric_step,
    settle_electric,
)
from lubberline.instruments.suction.rotor import Rotor, run_down_s
from lubberline.units import RAD_PER_RPM
from tests.instruments.drive_runs import fly_drive

DRIVE, ROTOR = ElectricDrive(), Rotor()
REST = ElectricState(0.0, 0.0, 1.0, 1.0)


def _fly(minutes: float, starts: list[int], faults: list[Faults], state: ElectricState) -> np.ndarray:
    samples = np.zeros(round(minutes * 600) + 1, dtype=SAMPLE)
    return fly_drive(samples, dict(zip(starts, faults, strict=True)), DRIVE, state)


# Common practice, no source: an electric gyro is at speed within two or three minutes.
def test_it_spins_up_to_its_supplys_speed_within_minutes() -> None:
    rows = _fly(8.0, [0], [HEALTHY], REST)
    rpm = rows["rotor_rad_s"] / RAD_PER_RPM
    assert 11_500 < rpm[-1] < 12_000
    assert 1.5 < np.argmax(rpm > 0.9 * rpm[-1]) / 600 < 3.5
    settled = settle_electric(0.0, DRIVE, ROTOR, HEALTHY)
    assert rows["rotor_rad_s"][-1] == pytest.approx(settled.rotor_rad_s, rel=1e-3)
    assert np.isnan(rows["gauge_pa"]).all()
    assert np.isnan(rows["instrument_pa"]).all()


@given(sizes=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)), worn=st.floats(0.0, 2.0))
def test_a_weaker_supply_gives_less_speed_and_less_levelling(sizes: tuple[float, float], worn: float) -> None:
    good, bad = (
        settle_electric(0.0, DRIVE, ROTOR, Faults(supply_failing=size, bearings_worn=worn))
        for size in sorted(sizes)
    )
    assert bad.rotor_rad_s <= good.rotor_rad_s + 1e-9
    assert bad.levelling_fraction <= good.levelling_fraction


@given(failing=st.floats(0.0, 1.0), altitude_m=st.floats(0.0, 8000.0), worn=st.floats(0.0, 2.0))
def test_the_settled_speed_is_where_a_step_changes_nothing(
    failing: float, altitude_m: float, worn: float
) -> None:
    faults = Faults(supply_failing=failing, bearings_worn=worn)
    settled = settle_electric(altitude_m, DRIVE, ROTOR, faults)
    after = electric_step(settled, altitude_m, DRIVE, ROTOR, faults, 0.1)
    assert after.rotor_rad_s == pytest.approx(settled.rotor_rad_s, abs=1e-9)


def test_with_the_supply_gone_it_runs_down_freely_and_levels_no_more() -> None:
    start = settle_electric(0.0, DRIVE, ROTOR, HEALTHY)
    rows = _fly(15.0, [0, 600], [HEALTHY, Faults(supply_failing=1.0)], start)
    assert rows["levelling_fraction"][599] == 1.0
    assert rows["levelling_fraction"][600] == 0.0
    stopped_s = np.argmax(rows["rotor_rad_s"] == 0.0) * 0.1 - 60.0
    assert stopped_s == pytest.approx(run_down_s(start.rotor_rad_s, 1.0, 0.0, ROTOR), abs=0.3)
    assert rows["spin_torque_nm"][-1] == 0.0


def test_a_supply_that_sags_lets_the_rotor_coast_down_to_the_lower_speed() -> None:
    start = settle_electric(0.0, DRIVE, ROTOR, HEALTHY)
    sagged = Faults(supply_failing=0.4)
    rows = _fly(20.0, [0], [sagged], start)
    assert rows["rotor_rad_s"][-1] == pytest.approx(
        settle_electric(0.0, DRIVE, ROTOR, sagged).rotor_rad_s, rel=1e-4
    )
    assert 6500 < rows["rotor_rad_s"][-1] / RAD_PER_RPM < 7200
    assert (np.diff(rows["rotor_rad_s"]) <= 0.0).all()
    free = electric_step(start, 0.0, DRIVE, ROTOR, Faults(supply_failing=1.0), 0.1)
    assert rows["rotor_rad_s"][1] == pytest.approx(free.rotor_rad_s, abs=1e-12)


def test_a_quarter_of_the_voltage_is_a_sixteenth_of_the_torque_and_does_not_overcome_the_bearings() -> None:
    assert DRIVE.torque_limit_nm / 16.0 < ROTOR.bearing_torque_nm < DRIVE.torque_limit_nm / 4.0
    assert settle_electric(0.0, DRIVE, ROTOR, Faults(supply_failing=0.75)).rotor_rad_s == 0.0
    start = settle_electric(0.0, DRIVE, ROTOR, HEALTHY)
    rows = _fly(60.0, [0], [Faults(supply_failing=0.75)], start)
    assert rows["rotor_rad_s"][-1] == 0.0
    assert rows["levelling_fraction"][-1] == 0.25
