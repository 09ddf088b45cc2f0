"""The flow balance: nozzle flow against published tables, and the laws written a second time."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.instruments.faults import HEALTHY, Faults
from lubberline.instruments.suction.airflow import (
    CHOKED_DROP,
    Airflow,
    SuctionSystem,
    cabin_at,
    flow_factor,
    jet_speed_factor,
    solve_airflow,
)
from lubberline.units import INHG_PA

CHOKED_FACTOR = 0.68473

# NACA Report 1135 (1953), table I, gamma 1.4: Mach number, p/pt, T/Tt, A/A* (values from memory).
NACA_1135 = ((0.2, 0.97250, 0.99206, 2.96352), (0.5, 0.84302, 0.95238, 1.33984), (1.0, 0.52828, 0.83333, 1.0))


@pytest.mark.parametrize(("mach", "pressure", "temperature", "area"), NACA_1135)
def test_nozzle_flow_is_that_of_the_published_table(
    mach: float, pressure: float, temperature: float, area: float
) -> None:
    # four or five digits are printed; at low speed the fifth digit of pressure is 1e-4 of the flow
    assert flow_factor(1.0 - pressure) == pytest.approx(CHOKED_FACTOR / area, rel=2e-4)
    assert jet_speed_factor(1.0 - pressure) == pytest.approx(mach * math.sqrt(1.4 * temperature), rel=2e-4)


# Choked flow of air, sqrt(g) (2/(g+1))^((g+1)/(2g-2)) = 0.68473: in any text on compressible flow.
def test_a_choked_nozzle_lets_no_more_through_however_low_the_pressure_behind_it() -> None:
    assert pytest.approx(1.0 - 0.52828, abs=1e-5) == CHOKED_DROP
    for drop in (CHOKED_DROP, 0.7, 1.0):
        assert flow_factor(drop) == pytest.approx(CHOKED_FACTOR, rel=1e-5)
    assert flow_factor(0.0) == jet_speed_factor(0.0) == 0.0


# At a small drop air is as good as incompressible: m = A sqrt(2 rho dp), v = sqrt(2 dp / rho).
@pytest.mark.parametrize("drop", [1e-4, 1e-8, 1e-14])
def test_a_small_drop_gives_the_flow_of_an_incompressible_fluid(drop: float) -> None:
    assert flow_factor(drop) == pytest.approx(math.sqrt(2.0 * drop), rel=1e-4)
    assert jet_speed_factor(drop) == pytest.approx(math.sqrt(2.0 * drop), rel=1e-4)


def _nozzle_kg_s(area_m2: float, high_pa: float, low_pa: float, gas_j_kg: float) -> float:
    """Isentropic flow by way of the Mach number: rho v A in the throat."""
    ratio = max(low_pa / high_pa, 0.528281788)
    mach = math.sqrt(5.0 * (ratio ** (-2.0 / 7.0) - 1.0))
    cooling = 1.0 / (1.0 + 0.2 * mach * mach)
    density = high_pa / gas_j_kg * cooling**2.5
    return area_m2 * density * mach * math.sqrt(1.4 * gas_j_kg * cooling)


engines = st.floats(0.0, 3000.0)
altitudes = st.floats(-300.0, 8000.0)
shares = st.floats(0.0, 1.0)
faults_strategy = st.builds(
    Faults,
    pump_weak=shares,
    regulator_low_inhg=st.floats(0.0, 5.0),
    filter_clogged=st.floats(0.0, 0.98),
    hose_leak=shares,
)


@given(engine_rpm=engines, altitude_m=altitudes, faults=faults_strategy, pressure=st.sampled_from((0.0, 1.0)))
def test_every_law_of_the_balance_holds_at_random(
    engine_rpm: float, altitude_m: float, faults: Faults, pressure: float
) -> None:
    system = SuctionSystem(pressure_driven=pressure)
    air = solve_airflow(engine_rpm, altitude_m, system, faults)
    cabin = cabin_at(altitude_m)
    gas, outside = cabin.gas_j_kg, cabin.pressure_pa
    assert air.pump_kg_s - air.instrument_kg_s - air.regulator_kg_s - air.leak_kg_s == pytest.approx(
        0.0, abs=2e-12
    )
    manifold = outside + air.manifold_pa * (1.0 if pressure else -1.0)
    high, low = max(manifold, outside), min(manifold, outside)
    # jets, with the filter's drop in series
    jet_high = outside + air.instrument_pa if pressure else manifold + air.instrument_pa
    jet_low = outside if pressure else manifold
    jets = _nozzle_kg_s(system.heading_jet_m2 + system.other_jets_m2, jet_high, jet_low, gas)
    assert air.instrument_kg_s == pytest.approx(jets, rel=1e-6, abs=1e-9)
    free = 1.0 - faults.filter_clogged
    at_filter = (jet_high if pressure else outside) / gas
    mass = air.instrument_kg_s
    drop = (1.2e5 * mass / free + 6e7 * (mass / free) ** 2) * 1.225 / at_filter
    assert air.manifold_pa - air.instrument_pa == pytest.approx(drop, rel=1e-6, abs=1e-3)
    # the rotor turns in the air that the jets have left
    assert air.housing_density_ratio == pytest.approx(jet_low / gas / 1.225, rel=1e-6)
    # pump, regulator, leak
    swept = 150e-6 * engine_rpm / 60.0 * 0.92 * (1.0 - faults.pump_weak)
    inlet = (outside if pressure else manifold) / gas
    assert air.pump_kg_s == pytest.approx(max(swept - 2e-8 * air.manifold_pa, 0.0) * inlet, abs=1e-12)
    setting = max(4.9 - faults.regulator_low_inhg, 0.0) * INHG_PA
    opened = 3e-8 * max(air.manifold_pa - setting, 0.0)
    assert air.regulator_kg_s == pytest.approx(_nozzle_kg_s(opened, high, low, gas), rel=1e-6, abs=1e-9)
    leak = _nozzle_kg_s(4e-5 * faults.hose_leak, high, low, gas)
    assert air.leak_kg_s == pytest.approx(leak, rel=1e-6, abs=1e-9)


def _air(engine_rpm: float, faults: Faults = HEALTHY, altitude_m: float = 0.0) -> Airflow:
    return solve_airflow(engine_rpm, altitude_m, SuctionSystem(), faults)


@given(engine_rpm=st.floats(300.0, 3000.0), altitude_m=altitudes, clogs=st.tuples(shares, shares))
def test_more_clog_gives_the_instruments_less_and_the_cabin_gauge_no_less(
    engine_rpm: float, altitude_m: float, clogs: tuple[float, float]
) -> None:
    clean, dirty = (_air(engine_rpm, Faults(filter_clogged=clog), altitude_m) for clog in sorted(clogs))
    assert dirty.instrument_pa <= clean.instrument_pa + 1e-3
    assert dirty.manifold_pa >= clean.manifold_pa - 1e-3


@given(
    engine_rpm=st.floats(300.0, 3000.0),
    field=st.sampled_from(("pump_weak", "hose_leak", "regulator_low_inhg")),
    sizes=st.tuples(shares, shares),
)
def test_a_larger_fault_never_raises_the_suction(
    engine_rpm: float, field: str, sizes: tuple[float, float]
) -> None:
    small, large = (_air(engine_rpm, Faults(**{field: size})) for size in sorted(sizes))
    assert large.manifold_pa <= small.manifold_pa + 1e-3
    assert large.instrument_pa <= small.instrument_pa + 1e-3


@given(engines=st.tuples(engines, engines), faults=faults_strategy)
def test_a_faster_engine_never_lowers_the_suction(engines: tuple[float, float], faults: Faults) -> None:
    slow, fast = (_air(rpm, faults) for rpm in sorted(engines))
    assert fast.manifold_pa >= slow.manifold_pa - 1e-3
    assert fast.levelling_fraction >= slow.levelling_fraction - 1e-6


def test_without_engine_or_pump_there_is_no_air_at_all() -> None:
    for air in (_air(0.0), _air(2400.0, Faults(pump_weak=1.0))):
        assert air.manifold_pa == air.instrument_pa == air.pump_kg_s == air.jet_mps == 0.0
        assert air.levelling_fraction == 0.0


def test_even_a_blocked_filter_is_balanced() -> None:
    air = _air(2400.0, Faults(filter_clogged=1.0))
    assert 0.0 < air.instrument_pa < 0.001 * air.manifold_pa
    assert air.manifold_pa > 5.0 * INHG_PA


def test_the_levelling_jets_are_at_full_strength_with_full_suction_across_them() -> None:
    open_filter = SuctionSystem(
        filter_linear_pa_s_kg=0.0, filter_square_pa_s2_kg2=0.0, regulator_gain_m2_pa=1.0
    )
    air = solve_airflow(2400.0, 0.0, open_filter, HEALTHY)
    assert air.instrument_pa == pytest.approx(4.9 * INHG_PA, rel=1e-4)
    assert air.levelling_fraction == pytest.approx(1.0, rel=1e-4)


# Common practice, no source: idle gives less suction the higher the aeroplane; the regulator holds cruise.
def test_altitude_takes_idle_suction_but_not_cruise_suction() -> None:
    idle = [_air(800.0, altitude_m=h).manifold_pa / INHG_PA for h in (0.0, 2000.0, 4000.0, 6000.0)]
    cruise = [_air(2400.0, altitude_m=h).manifold_pa / INHG_PA for h in (0.0, 2000.0, 4000.0, 6000.0)]
    assert idle == sorted(idle, reverse=True)
    assert idle[-1] < 0.7 * idle[0]
    assert max(cruise) - min(cruise) < 0.2
