"""The air that drives the gyros: pump, regulator, filter, hoses and jets in balance.

A suction system draws cabin air through the central filter and the instruments' jets into a manifold,
from which the pump takes it; the regulator and any leak let cabin air straight into the manifold. A
pressure system has the pump upstream: it fills the manifold, from which air goes through the filter
and the jets back to the cabin, or is spilt by regulator and leak.

The air settles in a fraction of a second, so it is taken as always settled. Nothing is heated: air that
has been throttled or has left a jet is at cabin temperature again, and a pump's warmth is lost in the
hoses.
"""

import math
from typing import NamedTuple

from lubberline.compiled import kernel
from lubberline.earth.atmosphere import (
    GAS_CONSTANT_J_KG_K,
    SEA_LEVEL_DENSITY_KG_M3,
    SEA_LEVEL_PRESSURE_PA,
    air_pressure_pa,
    air_temperature_k,
)
from lubberline.instruments.faults import Faults
from lubberline.units import INHG_PA

# Ratio of specific heats of air.
GAMMA = 1.4
# A nozzle that loses this share of the pressure is choked: 1 - (2/(g+1))^(g/(g-1)), 0.4717 for air.
CHOKED_DROP = 1.0 - (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
# A healthy regulator's setting, at which the strength of the levelling jets is quoted.
FULL_SUCTION_PA = 4.9 * INHG_PA
# What a blocked filter still lets through, as a share of its area.
LEAST_FREE_AREA = 1e-3
# A balance is found when it closes to this: a billionth of the flow at cruise.
LEAST_SURPLUS_KG_S = 1e-12
MOST_TRIALS = 200


class SuctionSystem(NamedTuple):
    """An air system; engineering choices for a light aeroplane, not measurements of one.

    Attributes:
        displacement_m3_per_turn: of the pump, for one turn of the engine.
        pump_efficiency: share of the displacement that a good pump delivers.
        pump_slip_m3_s_pa: volume that slips back through the pump for each pascal across it.
        filter_linear_pa_s_kg: drop across the clean filter in sea-level air, R1 m + R2 m^2: its R1,
        filter_square_pa_s2_kg2: and its R2.
        heading_jet_m2: effective area of the heading indicator's jet.
        other_jets_m2: of all the other air instruments together.
        regulator_setting_pa: at which the regulator begins to open. It senses the manifold against the
            cabin, so beyond the filter.
        regulator_gain_m2_pa: effective area by which it opens for each pascal above its setting.
        hose_area_m2: effective area of a hose that has come off.
        gauge_tap: 0: the gauge reads the manifold against the cabin; 1: across the instruments.
        pressure_driven: 1: the pump is upstream of the instruments and blows.
    """

    displacement_m3_per_turn: float = 150e-6
    pump_efficiency: float = 0.92
    pump_slip_m3_s_pa: float = 2e-8
    filter_linear_pa_s_kg: float = 1.2e5
    filter_square_pa_s2_kg2: float = 6e7
    heading_jet_m2: float = 6.2e-6
    other_jets_m2: float = 5.7e-6
    regulator_setting_pa: float = FULL_SUCTION_PA
    regulator_gain_m2_pa: float = 3e-8
    hose_area_m2: float = 4e-5
    gauge_tap: float = 0.0
    pressure_driven: float = 0.0


class Airflow(NamedTuple):
    """The air in balance, and what it was balanced for.

    Attributes:
        manifold_pa: manifold against cabin; positive whether sucked or blown.
        instrument_pa: across the instruments' jets.
        pump_kg_s: what the pump moves.
        instrument_kg_s: through filter and all jets.
        regulator_kg_s: through the regulator.
        leak_kg_s: through a leaking hose.
        heading_jet_kg_s: through the heading indicator's jet alone.
        jet_mps: speed of the air that leaves the jets.
        levelling_fraction: momentum of the heading indicator's jet, 1 = with `FULL_SUCTION_PA` across
            it at sea level.
        housing_density_ratio: of the air about the rotor to that of sea level; see `housing_density_ratio`.
        engine_rpm: balanced for this.
        altitude_m: balanced for this.
        faults: balanced for these.
    """

    manifold_pa: float
    instrument_pa: float
    pump_kg_s: float
    instrument_kg_s: float
    regulator_kg_s: float
    leak_kg_s: float
    heading_jet_kg_s: float
    jet_mps: float
    levelling_fraction: float
    housing_density_ratio: float
    engine_rpm: float
    altitude_m: float
    faults: Faults


class Cabin(NamedTuple):
    """The air that surrounds the system."""

    pressure_pa: float
    gas_j_kg: float  # gas constant times temperature
    density_ratio: float


class Flows(NamedTuple):
    """Pressures and mass flows at one trial of the jets' drop."""

    manifold_pa: float
    upstream_pa: float
    instrument_pa: float
    pump_kg_s: float
    instrument_kg_s: float
    regulator_kg_s: float
    leak_kg_s: float
    surplus_kg_s: float  # what the pump moves beyond what the rest lets through


@kernel
def cabin_at(altitude_m: float) -> Cabin:
    """Cabin air at an altitude of the standard atmosphere (an unpressurised cabin)."""
    pressure = air_pressure_pa(altitude_m)
    gas = GAS_CONSTANT_J_KG_K * air_temperature_k(altitude_m)
    return Cabin(pressure, gas, pressure / gas / SEA_LEVEL_DENSITY_KG_M3)


@kernel
def flow_factor(drop: float) -> float:
    """Isentropic flow through a nozzle, as mass flow x sqrt(R T) / (area x upstream pressure).

    Args:
        drop: pressure lost in the nozzle as a share of that upstream, 1 - x; not negative. Exact however
            small; choked, so constant, from `CHOKED_DROP` on.

    Source: sqrt(2g/(g-1) (x^(2/g) - x^((g+1)/g))), x downstream over upstream pressure; in any text on
    compressible flow, tabulated in NACA Report 1135.
    """
    bounded = min(drop, CHOKED_DROP)
    power = math.expm1(math.log1p(-bounded) / GAMMA)  # x^(1/g) - 1
    return math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * (1.0 + power) * (power + bounded))


@kernel
def jet_speed_factor(drop: float) -> float:
    """Speed of the air from a convergent nozzle over sqrt(R T); isentropic, at most that of sound."""
    exponent = (GAMMA - 1.0) / GAMMA
    cooling = -math.expm1(math.log1p(-min(drop, CHOKED_DROP)) * exponent)
    return math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * cooling)


@kernel
def orifice_kg_s(area_m2: float, upstream_pa: float, across_pa: float, gas_j_kg: float) -> float:
    """Mass flow through an orifice of an effective area, with a pressure across it that is not negative."""
    return area_m2 * upstream_pa / math.sqrt(gas_j_kg) * flow_factor(across_pa / upstream_pa)


@kernel
def _instrument_branch(
    drop: float, system: SuctionSystem, faults: Faults, cabin: Cabin
) -> tuple[float, float, float]:
    """Pressure upstream of the jets, their mass flow, and the filter's drop, in closed form.

    `drop` is the trial: the pressure lost in the jets as a share of that upstream of them.
    """
    per_pa = (system.heading_jet_m2 + system.other_jets_m2) / math.sqrt(cabin.gas_j_kg) * flow_factor(drop)
    free = max(1.0 - faults.filter_clogged, LEAST_FREE_AREA)
    linear = system.filter_linear_pa_s_kg / free
    square = system.filter_square_pa_s2_kg2 / (free * free)
    if system.pressure_driven > 0.5:
        upstream = cabin.pressure_pa / (1.0 - drop)
        thin = SEA_LEVEL_DENSITY_KG_M3 * cabin.gas_j_kg / upstream
        mass = per_pa * upstream
    else:
        # m = per_pa * upstream and upstream = cabin - filter's drop: a quadratic in m
        thin = 1.0 / cabin.density_ratio
        b = 1.0 + thin * linear * per_pa
        c = per_pa * cabin.pressure_pa
        mass = 2.0 * c / (b + math.sqrt(b * b + 4.0 * thin * square * per_pa * c))
        upstream = mass / per_pa if per_pa > 0.0 else cabin.pressure_pa
    return upstream, mass, thin * (linear * mass + square * mass * mass)


@kernel
def flows_at(drop: float, engine_rpm: float, system: SuctionSystem, faults: Faults, cabin: Cabin) -> Flows:
    """Every flow of the system when the jets lose this share of the pressure upstream of them."""
    upstream, mass, filter_pa = _instrument_branch(drop, system, faults, cabin)
    instrument = drop * upstream
    across = filter_pa + instrument
    pressure_driven = system.pressure_driven > 0.5
    manifold = cabin.pressure_pa + (across if pressure_driven else -across)
    high = max(manifold, cabin.pressure_pa)
    setting = max(system.regulator_setting_pa - faults.regulator_low_inhg * INHG_PA, 0.0)
    opened = system.regulator_gain_m2_pa * max(across - setting, 0.0)
    regulator = orifice_kg_s(opened, high, across, cabin.gas_j_kg)
    leak = orifice_kg_s(system.hose_area_m2 * faults.hose_leak, high, across, cabin.gas_j_kg)
    efficiency = system.pump_efficiency * (1.0 - faults.pump_weak)
    swept = system.displacement_m3_per_turn * engine_rpm / 60.0 * efficiency
    # a pump takes in what is at its inlet: manifold air if it sucks, cabin air if it blows
    inlet = cabin.pressure_pa if pressure_driven else manifold
    pump = max(swept - system.pump_slip_m3_s_pa * across, 0.0) * inlet / cabin.gas_j_kg
    surplus = pump - mass - regulator - leak
    return Flows(across, upstream, instrument, pump, mass, regulator, leak, surplus)


@kernel
def _balanced(engine_rpm: float, system: SuctionSystem, faults: Faults, cabin: Cabin) -> Flows:
    """The flows in balance: regula falsi (Illinois), with a bisection whenever that is slow.

    The surplus falls as the jets' drop grows, is not negative at rest and negative near a vacuum, so
    the balance stays bracketed. The unknown is the square root of the drop, in which flow is nearly
    linear.
    """
    low, high = 0.0, 0.999
    at_low = flows_at(0.0, engine_rpm, system, faults, cabin)
    if at_low.surplus_kg_s <= 0.0:
        return at_low
    above, below = at_low.surplus_kg_s, flows_at(high * high, engine_rpm, system, faults, cabin).surplus_kg_s
    side = 0
    best = at_low
    for trial in range(MOST_TRIALS):
        width = high - low
        middle = low + width * above / (above - below)
        if trial % 4 == 3 or not low < middle < high:
            middle = 0.5 * (low + high)
        best = flows_at(middle * middle, engine_rpm, system, faults, cabin)
        if abs(best.surplus_kg_s) < LEAST_SURPLUS_KG_S or width < 1e-14 * high:
            break
        if best.surplus_kg_s > 0.0:
            low, above = middle, best.surplus_kg_s
            below = 0.5 * below if side == 1 else below
            side = 1
        else:
            high, below = middle, best.surplus_kg_s
            above = 0.5 * above if side == -1 else above
            side = -1
    return best


@kernel
def _jet_momentum(drop: float, upstream_pa: float) -> float:
    """Momentum carried by a jet for each square metre of it; temperature cancels."""
    return upstream_pa * flow_factor(drop) * jet_speed_factor(drop)


@kernel
def housing_density_ratio(flows: Flows, cabin: Cabin) -> float:
    """Density of the air about the rotor, to that of sea level.

    A jet leaves the housing's air at the pressure beyond it: a suction system's at the manifold's, below
    the cabin's; a pressure system's, and one without flow, at the cabin's.
    """
    return (flows.upstream_pa - flows.instrument_pa) / cabin.gas_j_kg / SEA_LEVEL_DENSITY_KG_M3


@kernel
def solve_airflow(engine_rpm: float, altitude_m: float, system: SuctionSystem, faults: Faults) -> Airflow:
    """The air in balance at an engine speed and an altitude above mean sea level."""
    cabin = cabin_at(altitude_m)
    flows = _balanced(engine_rpm, system, faults, cabin)
    drop = flows.instrument_pa / flows.upstream_pa
    full = _jet_momentum(FULL_SUCTION_PA / SEA_LEVEL_PRESSURE_PA, SEA_LEVEL_PRESSURE_PA)
    share = system.heading_jet_m2 / (system.heading_jet_m2 + system.other_jets_m2)
    return Airflow(
        flows.manifold_pa,
        flows.instrument_pa,
        flows.pump_kg_s,
        flows.instrument_kg_s,
        flows.regulator_kg_s,
        flows.leak_kg_s,
        share * flows.instrument_kg_s,
        math.sqrt(cabin.gas_j_kg) * jet_speed_factor(drop),
        _jet_momentum(drop, flows.upstream_pa) / full,
        housing_density_ratio(flows, cabin),
        engine_rpm,
        altitude_m,
        faults,
    )
