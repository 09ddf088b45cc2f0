"""The suction (or pressure) drive of a gyro: air in balance, the rotor it turns, what the gauge reads.

The same step serves a whole flight and a live bench. Equations, faults and what they look like at the
gauge: `docs/methods/suction.md`.
"""

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel
from lubberline.earth.atmosphere import density_ratio
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import Faults
from lubberline.instruments.suction.airflow import Airflow, SuctionSystem, solve_airflow
from lubberline.instruments.suction.rotor import Rotor, rotor_step, steady_speed_rad_s, wear_factor
from lubberline.units import RAD_PER_RPM

# The air is balanced again when its inputs have changed by this: under 0.01 inHg at the gauge.
NOTICEABLE_RPM = 1.0
NOTICEABLE_ALTITUDE_M = 5.0
LONGEST_SPIN_UP_S = 3600.0


class SuctionState(NamedTuple):
    """The drive at a moment; its first fields are those of `DRIVE_SAMPLE`.

    `airflow` is the air as last balanced, kept until engine, altitude or a fault change noticeably. It
    belongs to one `SuctionSystem`: after changing the system, `settle_suction` or `suction_at_rest`.
    """

    rotor_rad_s: float
    spin_torque_nm: float
    levelling_fraction: float
    wear_factor: float
    gauge_pa: float
    instrument_pa: float
    airflow: Airflow


@kernel
def gauge_pa(airflow: Airflow, system: SuctionSystem) -> float:
    """What the pilot's gauge reads, by where this aircraft's is tapped."""
    return airflow.instrument_pa if system.gauge_tap > 0.5 else airflow.manifold_pa


@kernel
def jet_push(airflow: Airflow, rotor: Rotor) -> tuple[float, float]:
    """Torque of the jet on a rotor at standstill, and its fall for each rad/s.

    From eta_j mdot r (v_jet - w r).
    """
    taken = rotor.jet_efficiency * airflow.heading_jet_kg_s * rotor.jet_radius_m
    return taken * airflow.jet_mps, taken * rotor.jet_radius_m


@kernel
def _state(
    rotor_rad_s: float,
    spin_torque_nm: float,
    airflow: Airflow,
    system: SuctionSystem,
    rotor: Rotor,
    faults: Faults,
) -> SuctionState:
    return SuctionState(
        rotor_rad_s,
        spin_torque_nm,
        airflow.levelling_fraction,
        wear_factor(faults.bearings_worn, rotor),
        gauge_pa(airflow, system),
        airflow.instrument_pa,
        airflow,
    )


@kernel
def settle_suction(
    engine_rpm: float, altitude_m: float, system: SuctionSystem, rotor: Rotor, faults: Faults
) -> SuctionState:
    """The drive after a long time in these conditions: air in balance, rotor at its steady speed."""
    airflow = solve_airflow(engine_rpm, altitude_m, system, faults)
    push, fall = jet_push(airflow, rotor)
    speed = steady_speed_rad_s(push, fall, airflow.housing_density_ratio, faults.bearings_worn, rotor)
    return _state(speed, 0.0, airflow, system, rotor, faults)


@kernel
def suction_at_rest(altitude_m: float, system: SuctionSystem, rotor: Rotor, faults: Faults) -> SuctionState:
    """The drive with the engine off and the rotor still."""
    airflow = solve_airflow(0.0, altitude_m, system, faults)
    return _state(0.0, 0.0, airflow, system, rotor, faults)


@kernel
def _still_holds(airflow: Airflow, engine_rpm: float, altitude_m: float, faults: Faults) -> bool:
    """Whether air balanced before can stand for these conditions."""
    before = airflow.faults
    return (
        abs(engine_rpm - airflow.engine_rpm) <= NOTICEABLE_RPM
        and abs(altitude_m - airflow.altitude_m) <= NOTICEABLE_ALTITUDE_M
        and faults.pump_weak == before.pump_weak
        and faults.regulator_low_inhg == before.regulator_low_inhg
        and faults.filter_clogged == before.filter_clogged
        and faults.hose_leak == before.hose_leak
    )


@kernel
def suction_step(
    state: SuctionState,
    engine_rpm: float,
    altitude_m: float,
    system: SuctionSystem,
    rotor: Rotor,
    faults: Faults,
    dt_s: float,
) -> SuctionState:
    """The drive `dt_s` later, with engine speed, altitude and faults held at these values.

    `dt_s` 0 balances the air for these values and leaves the rotor's speed as it is.
    """
    airflow = state.airflow
    if not _still_holds(airflow, engine_rpm, altitude_m, faults):
        airflow = solve_airflow(engine_rpm, altitude_m, system, faults)
    push, fall = jet_push(airflow, rotor)
    speed, torque = rotor_step(
        state.rotor_rad_s, push, fall, airflow.housing_density_ratio, faults.bearings_worn, rotor, dt_s
    )
    return _state(speed, torque, airflow, system, rotor, faults)


@kernel
def spin_up_s(
    engine_rpm: float, altitude_m: float, system: SuctionSystem, rotor: Rotor, faults: Faults, share: float
) -> float:
    """Time from rest to a share of the steady speed; nan if that takes over an hour or never comes."""
    goal = share * settle_suction(engine_rpm, altitude_m, system, rotor, faults).rotor_rad_s
    state = suction_at_rest(altitude_m, system, rotor, faults)
    step_s = 0.1
    time_s = 0.0
    while goal > 0.0 and time_s < LONGEST_SPIN_UP_S:
        state = suction_step(state, engine_rpm, altitude_m, system, rotor, faults, step_s)
        time_s += step_s
        if state.rotor_rad_s >= goal:
            return time_s
    return math.nan


@kernel
def put_drive(row: Any, state: Any) -> None:
    """Write the drive into a `DRIVE_SAMPLE`; the finger on the card is not the drive's."""
    row.rotor_rad_s = state.rotor_rad_s
    row.spin_torque_nm = state.spin_torque_nm
    row.levelling_fraction = state.levelling_fraction
    row.wear_factor = state.wear_factor
    row.gauge_pa = state.gauge_pa
    row.instrument_pa = state.instrument_pa


@kernel
def carry_suction(
    state: SuctionState, samples: Any, faults: Faults, system: SuctionSystem, rotor: Rotor, rows: Any
) -> SuctionState:
    """The drive from sample 0 to the last with unchanging faults; fills `rows` from the second on."""
    for i in range(1, rows.shape[0]):
        here = samples[i]
        state = suction_step(state, here.engine_rpm, here.altitude_m, system, rotor, faults, STEP_S)
        put_drive(rows[i], state)
    return state


DRIVE_SAMPLE = np.dtype(
    [
        ("rotor_rad_s", "f8"),
        # Net torque along the spin axis, reacted by the housing: J times the rotor's acceleration.
        ("spin_torque_nm", "f8"),
        # Strength of the levelling jets (or motor), 1 = as at full suction.
        ("levelling_fraction", "f8"),
        # Worn bearings: factor on the torques of real wander and gimbal friction, 1 = as new.
        ("wear_factor", "f8"),
        # What the pilot's gauge reads by this aircraft's tap, and what the instrument gets (nan: no gauge).
        ("gauge_pa", "f8"),
        ("instrument_pa", "f8"),
        # A finger on the card: torque about the outer axis, clockwise seen from above; 0 in flight.
        ("finger_nm", "f8"),
    ]
)


class ElectricDrive(NamedTuple):
    """An electric drive; engineering choices for a small instrument, not measurements of one.

    Attributes:
        nominal_rad_s: speed that goes with the full supply's frequency.
        torque_limit_nm: the motor's greatest torque at full voltage.
        slip_rad_s: below the supply's speed by this, the motor gives its greatest torque.
    """

    nominal_rad_s: float = 12000.0 * RAD_PER_RPM
    torque_limit_nm: float = 8.2e-4
    slip_rad_s: float = 40.0


class ElectricState(NamedTuple):
    """The drive at a moment, as in `DRIVE_SAMPLE`; there is no gauge."""

    rotor_rad_s: float
    spin_torque_nm: float
    levelling_fraction: float
    wear_factor: float
    gauge_pa: float = math.nan
    instrument_pa: float = math.nan


DriveState = SuctionState | ElectricState


@kernel
def motor_push(rotor_rad_s: float, drive: ElectricDrive, faults: Faults) -> tuple[float, float]:
    """The motor's torque as `push - fall * w` about a speed: its limit, less as it nears the supply's.

    Faster than the supply's speed the motor gives nothing: it does not brake.
    """
    voltage = 1.0 - faults.supply_failing
    limit = drive.torque_limit_nm * voltage * voltage
    lag = drive.nominal_rad_s * voltage - rotor_rad_s
    if lag >= drive.slip_rad_s:
        return limit, 0.0
    if lag <= 0.0:
        return 0.0, 0.0
    fall = limit / drive.slip_rad_s
    return fall * drive.nominal_rad_s * voltage, fall


@kernel
def settle_electric(altitude_m: float, drive: ElectricDrive, rotor: Rotor, faults: Faults) -> ElectricState:
    """The drive after a long time in these conditions, spun up from rest."""
    density = density_ratio(altitude_m)
    voltage = 1.0 - faults.supply_failing
    limit = drive.torque_limit_nm * voltage * voltage
    held = max(drive.nominal_rad_s * voltage - drive.slip_rad_s, 0.0)
    # with the full torque the drag alone sets the speed, unless the supply's is reached before
    speed = steady_speed_rad_s(limit, 0.0, density, faults.bearings_worn, rotor)
    if speed > held and limit > 0.0:
        fall = limit / drive.slip_rad_s
        push = fall * drive.nominal_rad_s * voltage
        speed = steady_speed_rad_s(push, fall, density, faults.bearings_worn, rotor)
    return ElectricState(speed, 0.0, voltage, wear_factor(faults.bearings_worn, rotor), math.nan, math.nan)


@kernel
def electric_step(
    state: ElectricState,
    altitude_m: float,
    drive: ElectricDrive,
    rotor: Rotor,
    faults: Faults,
    dt_s: float,
) -> ElectricState:
    """The drive `dt_s` later; the levelling motor's strength goes with the voltage."""
    push, fall = motor_push(state.rotor_rad_s, drive, faults)
    density = density_ratio(altitude_m)
    speed, torque = rotor_step(state.rotor_rad_s, push, fall, density, faults.bearings_worn, rotor, dt_s)
    voltage = 1.0 - faults.supply_failing
    return ElectricState(speed, torque, voltage, wear_factor(faults.bearings_worn, rotor), math.nan, math.nan)


@kernel
def carry_electric(
    state: ElectricState, samples: Any, faults: Faults, drive: ElectricDrive, rotor: Rotor, rows: Any
) -> ElectricState:
    """The drive from sample 0 to the last with unchanging faults; fills `rows` from the second on."""
    for i in range(1, rows.shape[0]):
        state = electric_step(state, samples[i].altitude_m, drive, rotor, faults, STEP_S)
        put_drive(rows[i], state)
    return state


def balanced_drive(
    state: DriveState,
    here: Any,
    faults: Faults,
    system: SuctionSystem | ElectricDrive,
    rotor: Rotor,
    rows: NDArray[np.void],
) -> DriveState:
    """The drive at a sample with faults that may be new, its rotor as fast as it was; fills the first row."""
    altitude_m, engine_rpm = float(here["altitude_m"]), float(here["engine_rpm"])
    after: DriveState = (
        electric_step(state, altitude_m, system, rotor, faults, 0.0)  # type: ignore[arg-type]
        if isinstance(state, ElectricState)
        else suction_step(state, engine_rpm, altitude_m, system, rotor, faults, 0.0)  # type: ignore[arg-type]
    )
    put_drive(rows[0], after)
    return after
