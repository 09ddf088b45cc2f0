"""The air drive: the pattern of gauge, rotor and times for each fault, and the flight along a motion."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight.motion import SAMPLE
from lubberline.instruments.faults import HEALTHY, Faults, with_fault
from lubberline.instruments.suction.drive import (
    DRIVE_SAMPLE,
    SuctionState,
    SuctionSystem,
    settle_suction,
    suction_at_rest,
    suction_step,
)
from lubberline.instruments.suction.rotor import Rotor, run_down_s
from lubberline.simulation.symptoms import Symptoms, symptoms
from lubberline.units import INHG_PA, RAD_PER_RPM
from tests.instruments.drive_runs import fly_drive

SYSTEM, ROTOR = SuctionSystem(), Rotor()
ACROSS = SuctionSystem(gauge_tap=1.0)
IDLE, CRUISE = 800.0, 2400.0


def _shown(engine_rpm: float, faults: Faults = HEALTHY, altitude_m: float = 0.0) -> Symptoms:
    return symptoms(engine_rpm, altitude_m, SYSTEM, ROTOR, faults)


def _named(fault: str) -> Faults:
    return with_fault(HEALTHY, fault) if fault else HEALTHY


# The study's table, engine at 800 and 2,400 rpm: gauge against cabin and across the instruments in inHg,
# rotor rpm, spin-down in min, drift in deg/15 min. Its rotor had less push and less windage, so only
# the pattern is asked for: suctions to 0.15 inHg, the rest to 15 %, a spin-down to 1.7 min.
STUDY = {
    "": ((3.2, 5.1), (3.0, 4.9), (9100, 12700), (10, 12), (3.9, 2.8)),
    "filter": ((4.9, 5.1), (2.2, 2.4), (7500, 7800), (9, 9), (4.8, 4.6)),
    "bearings": ((3.2, 5.1), (3.0, 4.9), (5400, 10000), (3, 5), (16.6, 8.9)),
}


@pytest.mark.parametrize("fault", STUDY)
def test_the_pattern_of_the_studys_table(fault: str) -> None:
    cabin, across, rotor_rpm, run_down_min, drift = STUDY[fault]
    for i, engine_rpm in enumerate((IDLE, CRUISE)):
        shown = _shown(engine_rpm, _named(fault))
        print(fault or "healthy", int(engine_rpm), *(f"{value:.1f}" for value in shown))
        assert shown.cabin_gauge_inhg == pytest.approx(cabin[i], abs=0.15)
        assert shown.instrument_gauge_inhg == pytest.approx(across[i], abs=0.15)
        assert shown.rotor_rpm == pytest.approx(rotor_rpm[i], rel=0.15)
        assert shown.run_down_min == pytest.approx(run_down_min[i], abs=1.7)
        assert shown.limit_drift_deg_15min == pytest.approx(drift[i], rel=0.15)


# The study's weak pump: 1.1 inHg, 2,700 rpm, 4 min, 13.6 deg/15 min at idle. So near standstill the rotor
# of a retuned jet differs most (4,000 rpm here): only that all of it goes wrong together is asked for.
def test_a_weak_pump_starves_the_rotor_at_idle_and_hardly_at_cruise() -> None:
    idle, cruise = (_shown(rpm, _named("pump")) for rpm in (IDLE, CRUISE))
    assert idle.cabin_gauge_inhg == pytest.approx(1.1, abs=0.15)
    assert idle.rotor_rpm < 0.5 * _shown(IDLE).rotor_rpm
    assert idle.run_down_min < 0.65 * _shown(IDLE).run_down_min
    assert idle.limit_drift_deg_15min > 2.0 * _shown(IDLE).limit_drift_deg_15min
    assert cruise.rotor_rpm > 0.97 * _shown(CRUISE).rotor_rpm


# The study: a leak of 1e-5 m2 and a pump at half its efficiency, at 800, 1,200, 1,700 and 2,400 rpm.
def test_a_leak_and_a_weak_pump_look_alike_at_the_gauge() -> None:
    engines = (800.0, 1200.0, 1700.0, 2400.0)
    leak = np.array([_shown(rpm, _named("leak")).cabin_gauge_inhg for rpm in engines])
    pump = np.array([_shown(rpm, _named("pump")).cabin_gauge_inhg for rpm in engines])
    print("leak", leak.round(1), "pump", pump.round(1))
    np.testing.assert_allclose(leak, [1.2, 2.4, 4.3, 5.0], atol=0.1)
    np.testing.assert_allclose(pump, [1.1, 2.3, 4.0, 4.9], atol=0.1)
    assert np.abs(leak - pump).max() < 0.3


# The study: a regulator set to 3.5 inHg reads 3.2 at idle and 3.7 at cruise, the rotor at 9,100 / 10,200.
def test_a_regulator_set_low_caps_the_gauge_at_every_power() -> None:
    low = with_fault(HEALTHY, "regulator", 4.9 - 3.5)
    idle, cruise = _shown(IDLE, low), _shown(CRUISE, low)
    assert idle.cabin_gauge_inhg == pytest.approx(3.2, abs=0.1)
    assert cruise.cabin_gauge_inhg == pytest.approx(3.7, abs=0.1)
    assert idle == pytest.approx(_shown(IDLE), rel=1e-6)
    assert cruise.rotor_rpm == pytest.approx(10_200, rel=0.1)


# Common practice, no source: over 12,000 rpm and about 5 inHg at cruise, several minutes of spin-down,
# about 5 minutes to spin up, about 10 to run down.
@pytest.mark.parametrize("altitude_m", [0.0, 1500.0, 3000.0])
def test_a_healthy_instrument_is_as_the_trade_knows_it(altitude_m: float) -> None:
    cruise = _shown(CRUISE, altitude_m=altitude_m)
    assert 12_000 < cruise.rotor_rpm < 16_000
    assert 4.5 < cruise.cabin_gauge_inhg < 5.5
    assert 4.5 < cruise.instrument_gauge_inhg < 5.5
    # Higher up thinner air brakes less: the rotor goes faster, and takes longer to get there.
    assert 5.0 < cruise.spin_up_min < 7.0
    assert 8.0 < cruise.run_down_min < 16.0
    if altitude_m == 0.0:
        assert cruise.spin_up_min < 6.0
        assert cruise.run_down_min < 12.0


# Common practice, no source: "gauge normal, spin-down halved" is the bearing.
def test_bearings_show_in_the_spin_down_and_not_at_the_gauge() -> None:
    for engine_rpm in (IDLE, CRUISE):
        worn, healthy = _shown(engine_rpm, _named("bearings")), _shown(engine_rpm)
        assert worn[:2] == healthy[:2]
        assert worn.run_down_min < 0.5 * healthy.run_down_min
        assert worn.limit_drift_deg_15min > 2.5 * healthy.limit_drift_deg_15min


@given(clogged=st.floats(0.5, 0.95), engine_rpm=st.floats(1300.0, 2700.0))
def test_where_the_gauge_is_tapped_decides_whether_a_clogged_filter_shows(
    clogged: float, engine_rpm: float
) -> None:
    faults = Faults(filter_clogged=clogged)
    by_cabin, healthy = (settle_suction(engine_rpm, 0.0, SYSTEM, ROTOR, f) for f in (faults, HEALTHY))
    across, healthy_across = (settle_suction(engine_rpm, 0.0, ACROSS, ROTOR, f) for f in (faults, HEALTHY))
    assert 0.0 <= by_cabin.gauge_pa - healthy.gauge_pa < 0.15 * INHG_PA
    assert across.gauge_pa < healthy_across.gauge_pa - 0.15 * INHG_PA
    assert by_cabin.instrument_pa == across.instrument_pa == across.gauge_pa


def test_a_clogged_filter_raises_the_cabin_gauge_at_idle() -> None:
    clogged = _shown(IDLE, _named("filter"))
    assert clogged.cabin_gauge_inhg > _shown(IDLE).cabin_gauge_inhg + 1.0
    assert clogged.instrument_gauge_inhg < _shown(IDLE).instrument_gauge_inhg - 0.5


@pytest.mark.parametrize("fault", ["", "pump", "regulator", "filter", "leak", "bearings"])
def test_a_pressure_system_shows_the_same_signs(fault: str) -> None:
    blown = SuctionSystem(pressure_driven=1.0)
    for engine_rpm in (IDLE, CRUISE):
        mine = symptoms(engine_rpm, 0.0, blown, ROTOR, _named(fault))
        sucked = _shown(engine_rpm, _named(fault))
        assert mine.cabin_gauge_inhg == pytest.approx(sucked.cabin_gauge_inhg, abs=0.35)
        assert mine.instrument_gauge_inhg == pytest.approx(sucked.instrument_gauge_inhg, abs=0.35)
        assert mine.rotor_rpm == pytest.approx(sucked.rotor_rpm, rel=0.15)


def _motion(minutes: float, engine_rpm: float = CRUISE) -> np.ndarray:
    samples = np.zeros(round(minutes * 600) + 1, dtype=SAMPLE)
    samples["time_s"] = np.arange(len(samples)) * 0.1
    samples["engine_rpm"] = engine_rpm
    return samples


def _fly(samples: np.ndarray, changes: dict[int, Faults], state: SuctionState) -> np.ndarray:
    return fly_drive(samples, changes, SYSTEM, state)


def _cruising() -> SuctionState:
    return settle_suction(CRUISE, 0.0, SYSTEM, ROTOR, HEALTHY)


def test_a_settled_drive_stays_as_it_is() -> None:
    rows = _fly(_motion(20.0), {0: HEALTHY}, _cruising())
    np.testing.assert_allclose(rows["rotor_rad_s"], rows["rotor_rad_s"][0], rtol=1e-9)
    np.testing.assert_allclose(rows["spin_torque_nm"], 0.0, atol=1e-15)
    assert (rows["wear_factor"] == 1.0).all()
    assert rows["levelling_fraction"] == pytest.approx(1.0, abs=0.01)


def test_a_flight_and_single_steps_are_the_same() -> None:
    samples = _motion(1.0)
    samples["engine_rpm"] = 1500.0 + 700.0 * np.sin(samples["time_s"] / 7.0)
    samples["altitude_m"] = 500.0 + 4.0 * samples["time_s"]
    worn = Faults(hose_leak=0.1, bearings_worn=0.5)
    state = suction_at_rest(500.0, SYSTEM, ROTOR, HEALTHY)
    rows = _fly(samples, {0: HEALTHY, 300: worn}, state)
    for i, here in enumerate(samples):
        faults = worn if i >= 300 else HEALTHY
        engine_rpm, altitude_m = float(here["engine_rpm"]), float(here["altitude_m"])
        state = suction_step(state, engine_rpm, altitude_m, SYSTEM, ROTOR, faults, 0.1 if i else 0.0)
        assert tuple(rows[i])[:6] == state[:6]


def test_balancing_the_air_only_when_something_changed_is_not_seen_at_the_gauge() -> None:
    samples = _motion(3.0)
    samples["engine_rpm"] = 900.0 + 2.0 * samples["time_s"]
    samples["altitude_m"] = 3.0 * samples["time_s"]
    rows = _fly(samples, {0: HEALTHY}, suction_at_rest(0.0, SYSTEM, ROTOR, HEALTHY))
    exact = [
        settle_suction(float(engine), float(altitude), SYSTEM, ROTOR, HEALTHY).gauge_pa
        for engine, altitude in zip(samples["engine_rpm"], samples["altitude_m"], strict=True)
    ]
    assert np.abs(rows["gauge_pa"] - exact).max() < 0.01 * INHG_PA


def test_when_the_pump_fails_the_gauge_falls_at_once_and_the_rotor_in_minutes() -> None:
    start = _cruising()
    rows = _fly(_motion(15.0), {0: HEALTHY, 600: Faults(pump_weak=1.0)}, start)
    assert rows["gauge_pa"][599] > 5.0 * INHG_PA
    assert rows["gauge_pa"][600] == rows["levelling_fraction"][600] == 0.0
    stopped_s = np.argmax(rows["rotor_rad_s"] == 0.0) * 0.1 - 60.0
    assert stopped_s == pytest.approx(run_down_s(start.rotor_rad_s, 1.0, 0.0, ROTOR), abs=0.3)
    # all of the momentum was taken by the torque that the housing feels
    impulse = rows["spin_torque_nm"].sum() * 0.1
    assert impulse == pytest.approx(-ROTOR.inertia_kgm2 * start.rotor_rad_s, rel=1e-9)


@pytest.mark.parametrize("fault", ["pump", "regulator", "filter", "leak"])
def test_the_air_answers_to_each_fault_in_the_sample_with_which_it_comes(fault: str) -> None:
    rows = _fly(_motion(1.0), {0: HEALTHY, 300: _named(fault)}, _cruising())
    settled = settle_suction(CRUISE, 0.0, SYSTEM, ROTOR, _named(fault))
    assert rows["instrument_pa"][299] == _cruising().instrument_pa
    assert rows["instrument_pa"][300] == settled.instrument_pa != rows["instrument_pa"][299]
    assert rows["gauge_pa"][300] == settled.gauge_pa


def test_stopping_the_engine_stops_the_air() -> None:
    samples = _motion(1.0)
    samples["engine_rpm"][300:] = 0.0
    rows = _fly(samples, {0: HEALTHY}, _cruising())
    assert rows["gauge_pa"][299] > 5.0 * INHG_PA
    assert rows["gauge_pa"][300] == 0.0


def test_a_mended_fault_spins_the_rotor_up_again() -> None:
    changes = {0: Faults(pump_weak=1.0), 9000: HEALTHY}
    rows = _fly(_motion(35.0), changes, _cruising())
    assert rows["rotor_rad_s"][8999] == 0.0
    assert rows["rotor_rad_s"][-1] / RAD_PER_RPM > 12_000


@given(
    sizes=st.lists(st.tuples(*[st.floats(0.0, 1.0)] * 6), min_size=1, max_size=4),
    engine_rpm=st.floats(0.0, 3000.0),
    altitude_m=st.floats(-300.0, 9000.0),
)
def test_rows_are_finite_whatever_fails(
    sizes: list[tuple[float, ...]], engine_rpm: float, altitude_m: float
) -> None:
    samples = _motion(1.0, engine_rpm)
    samples["altitude_m"] = altitude_m
    changes = {150 * i: Faults(*size) for i, size in enumerate(sizes)}
    rows = _fly(samples, changes, _cruising())
    assert rows.dtype == DRIVE_SAMPLE
    for name in DRIVE_SAMPLE.names or ():
        assert np.isfinite(rows[name]).all()
    assert (rows["rotor_rad_s"] >= 0.0).all()
    assert (rows["wear_factor"] >= 1.0).all()
