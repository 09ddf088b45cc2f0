"""The air-driven rotor from rest to speed and back, against a second simulator written from the equations.

The second one shares nothing with the program but the parameters: its own standard atmosphere, its own flow
balance by Brent's method in the manifold's pressure, its own rotor by Runge-Kutta of order 8 (SciPy).
"""

import math
from typing import NamedTuple

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from lubberline.instruments.faults import HEALTHY, Faults
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction, suction_at_rest, suction_step
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.symptoms import symptoms
from lubberline.units import INHG_PA, RAD_PER_RPM

ROTOR = Rotor()
# ICAO Doc 7488: sea level, gas constant, lapse rate; from memory.
P0_PA, T0_K, R_J_KG_K, LAPSE_K_M, EXPONENT = 101325.0, 288.15, 287.05287, 0.0065, 5.25588
CRUISE_RPM = 2400.0


class Air(NamedTuple):
    """The air of a drive: through the rotor's jet, its speed, and the density where the rotor turns."""

    jet_kg_s: float
    jet_mps: float
    housing_kg_m3: float


def nozzle(area_m2: float, high_pa: float, low_pa: float, gas_j_kg: float) -> tuple[float, float]:
    """Flow and speed by way of the Mach number in the throat."""
    ratio = max(low_pa / high_pa, 0.528281788)
    mach = math.sqrt(5.0 * (ratio ** (-2.0 / 7.0) - 1.0))
    cooling = 1.0 / (1.0 + 0.2 * mach * mach)
    speed_mps = mach * math.sqrt(1.4 * gas_j_kg * cooling)
    return area_m2 * high_pa / gas_j_kg * cooling**2.5 * speed_mps, speed_mps


def sucked(engine_rpm: float, altitude_m: float, clogged: float) -> Air:
    """A suction system's air in balance: the pressure upstream of the jets for each manifold's."""
    temperature_k = T0_K - LAPSE_K_M * altitude_m
    cabin_pa = P0_PA * (temperature_k / T0_K) ** EXPONENT
    gas = R_J_KG_K * temperature_k
    system = SuctionSystem()
    jets_m2 = system.heading_jet_m2 + system.other_jets_m2

    def through_filter_pa(kg_s: float) -> float:
        mass = kg_s / (1.0 - clogged)
        linear, square = system.filter_linear_pa_s_kg, system.filter_square_pa_s2_kg2
        return (linear * mass + square * mass * mass) * 1.225 * gas / cabin_pa

    def upstream_pa(manifold_pa: float) -> float:
        def missing(upstream: float) -> float:
            kg_s, _ = nozzle(jets_m2, upstream, manifold_pa, gas)
            return cabin_pa - through_filter_pa(kg_s) - upstream

        return float(brentq(missing, manifold_pa, cabin_pa, xtol=1e-9))

    def surplus_kg_s(manifold_pa: float) -> float:
        across = cabin_pa - manifold_pa
        opened = system.regulator_gain_m2_pa * max(across - system.regulator_setting_pa, 0.0)
        swept = system.displacement_m3_per_turn * engine_rpm / 60.0 * system.pump_efficiency
        pump = (swept - system.pump_slip_m3_s_pa * across) * manifold_pa / gas
        jets, _ = nozzle(jets_m2, upstream_pa(manifold_pa), manifold_pa, gas)
        return pump - jets - nozzle(opened, cabin_pa, manifold_pa, gas)[0]

    manifold_pa = float(brentq(surplus_kg_s, 0.5 * cabin_pa, cabin_pa - 1.0, xtol=1e-9))
    kg_s, mps = nozzle(jets_m2, upstream_pa(manifold_pa), manifold_pa, gas)
    return Air(kg_s * system.heading_jet_m2 / jets_m2, mps, manifold_pa / gas)


def change_rad_s2(speed_rad_s: float, air: Air, worn: float) -> float:
    """J dw/dt = eta_j m_j r (v - w r) - T0 - c2 (rho / rho0) w^2."""
    radius = ROTOR.jet_radius_m
    push = ROTOR.jet_efficiency * air.jet_kg_s * radius * (air.jet_mps - speed_rad_s * radius)
    friction = ROTOR.bearing_torque_nm * (1.0 + 2.0 * worn)
    windage = ROTOR.windage_nms2 * air.housing_kg_m3 / 1.225 * speed_rad_s**2
    return (push - friction - windage) / ROTOR.inertia_kgm2


def until_s(begin_rad_s: float, goal_rad_s: float, air: Air, worn: float = 0.0) -> float:
    """How long it takes from one speed to another."""

    def reached(_: float, speed: list[float]) -> float:
        return speed[0] - goal_rad_s

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        lambda _, speed: [change_rad_s2(speed[0], air, worn)],
        (0.0, 7200.0),
        [begin_rad_s],
        method="DOP853",
        events=reached,
        rtol=1e-10,
        atol=1e-9,
    )
    return float(found.t_events[0][0])


@pytest.mark.parametrize(
    ("altitude_m", "clogged", "worn"),
    [(0.0, 0.0, 0.0), (1500.0, 0.0, 0.0), (3000.0, 0.0, 1.0), (0.0, 0.87, 0.0)],
)
def test_run_up_and_run_down_are_those_of_a_second_simulator(
    altitude_m: float, clogged: float, worn: float
) -> None:
    air = sucked(CRUISE_RPM, altitude_m, clogged)
    faults = Faults(filter_clogged=clogged, bearings_worn=worn)
    system = SuctionSystem()
    settled = settle_suction(CRUISE_RPM, altitude_m, system, ROTOR, faults)
    steady = float(brentq(lambda speed: change_rad_s2(speed, air, worn), 100.0, 3000.0))
    assert settled.rotor_rad_s == pytest.approx(steady, rel=1e-6)
    shown = symptoms(CRUISE_RPM, altitude_m, system, ROTOR, faults)
    # Steps of a tenth of a second end behind the moment.
    assert shown.spin_up_min * 60.0 == pytest.approx(until_s(0.0, 0.9 * steady, air, worn) + 0.05, abs=0.1)
    # With the air cut the housing is full of the cabin's.
    temperature_k = T0_K - LAPSE_K_M * altitude_m
    cabin_kg_m3 = P0_PA * (temperature_k / T0_K) ** EXPONENT / (R_J_KG_K * temperature_k)
    cut = Air(0.0, 0.0, cabin_kg_m3)
    assert shown.run_down_min * 60.0 == pytest.approx(until_s(steady, 0.0, cut, worn), abs=0.05)
    # And in steps, as a flight flies it: the engine stops.
    state, at_s = settled, 0.0
    while state.rotor_rad_s > 0.0:
        state = suction_step(state, 0.0, altitude_m, system, ROTOR, faults, 0.1)
        at_s += 0.1
    assert at_s == pytest.approx(shown.run_down_min * 60.0, abs=0.2)


# What the shipped instrument is fitted to; common practice, no source.
def test_the_shipped_instrument_is_what_it_was_fitted_to() -> None:
    shown = symptoms(CRUISE_RPM, 0.0, SuctionSystem(), ROTOR, HEALTHY)
    assert shown.instrument_gauge_inhg == pytest.approx(4.9, abs=0.05)
    assert 12_000.0 <= shown.rotor_rpm <= 13_500.0
    assert 5.0 <= shown.spin_up_min <= 6.0
    assert 8.0 <= shown.run_down_min <= 12.0


# The study: the cabin's density in place of the housing's makes the rotor up to 7% slow.
def test_the_cabins_density_would_make_the_rotor_slow_by_what_the_study_says() -> None:
    air = sucked(CRUISE_RPM, 0.0, 0.0)
    right, wrong = (
        float(brentq(lambda speed, a=a: change_rad_s2(speed, a, 0.0), 100.0, 3000.0))
        for a in (air, air._replace(housing_kg_m3=1.225))
    )
    assert 0.06 < 1.0 - wrong / right < 0.08
    manifold_inhg = (1.0 - air.housing_kg_m3 / 1.225) * P0_PA / INHG_PA
    assert manifold_inhg == pytest.approx(5.1, abs=0.1)


# A smooth disc in free air, both faces, laminar: M = 3.87 Re^-1/2 rho w^2 r^5 / 2, Re = w r^2 / nu (Cochran
# 1934, in Schlichting, Boundary-Layer Theory; from memory). Buckets can only make it more, and by pressure
# they drag with the density itself, as the law has it; some times the smooth disc is what is believable.
def test_windage_is_some_times_that_of_a_smooth_disc() -> None:
    speed, radius = 12_750.0 * RAD_PER_RPM, ROTOR.jet_radius_m
    reynolds = speed * radius**2 / 1.46e-5
    smooth_nm = 0.5 * 3.87 / math.sqrt(reynolds) * 1.225 * speed**2 * radius**5
    assert 1.0 < ROTOR.windage_nms2 * speed**2 / smooth_nm < 5.0


def test_a_pressure_systems_rotor_turns_in_the_cabins_air_and_a_suction_systems_in_thinner() -> None:
    for altitude_m in (0.0, 2500.0):
        still = suction_at_rest(altitude_m, SuctionSystem(), ROTOR, HEALTHY).airflow.housing_density_ratio
        blown, drawn = (
            settle_suction(CRUISE_RPM, altitude_m, SuctionSystem(pressure_driven=p), ROTOR, HEALTHY)
            for p in (1.0, 0.0)
        )
        assert blown.airflow.housing_density_ratio == pytest.approx(still, rel=1e-12)
        assert 0.75 * still < drawn.airflow.housing_density_ratio < 0.85 * still
