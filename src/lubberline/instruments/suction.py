"""The suction (or pressure) drive of a gyro: air in balance, the rotor it turns, what the gauge reads.

The same step serves a whole flight and a live bench. Equations, faults and what they look like at the
gauge: `docs/suction.md`.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel
from lubberline.flight.motion import STEP_S, Samples
from lubberline.instruments.airflow import Airflow, SuctionSystem, solve_airflow
from lubberline.instruments.drive import DRIVE_SAMPLE
from lubberline.instruments.faults import Faults
from lubberline.instruments.rotor import Rotor, rotor_step, steady_speed_rad_s, wear_factor

__all__ = [
    "Airflow",
    "SuctionState",
    "SuctionSystem",
    "carry_suction",
    "fly_suction",
    "gauge_pa",
    "put_drive",
    "settle_suction",
    "suction_at_rest",
    "suction_step",
]

# The air is balanced again when its inputs have changed by this: under 0.01 inHg at the gauge.
NOTICEABLE_RPM = 1.0
NOTICEABLE_ALTITUDE_M = 5.0


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
    if abs(engine_rpm - airflow.engine_rpm) > NOTICEABLE_RPM:
        return False
    if abs(altitude_m - airflow.altitude_m) > NOTICEABLE_ALTITUDE_M:
        return False
    before = airflow.faults
    return (
        faults.pump_weak == before.pump_weak
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
def faults_of(sizes: Any) -> Faults:
    """A row of fault sizes, in the order of the fields of `Faults`, as that record."""
    return Faults(sizes[0], sizes[1], sizes[2], sizes[3], sizes[4], sizes[5])


@kernel
def put_drive(row: Any, state: SuctionState) -> None:
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


@kernel
def _fly(
    samples: Any,
    starts: NDArray[np.int64],
    sizes: NDArray[np.float64],
    system: SuctionSystem,
    rotor: Rotor,
    state: SuctionState,
    step_s: float,
    rows: Any,
) -> None:
    segment = 0
    faults = faults_of(sizes[0])
    for i in range(samples.shape[0]):
        while segment + 1 < starts.shape[0] and starts[segment + 1] <= i:
            segment += 1
            faults = faults_of(sizes[segment])
        here = samples[i]
        state = suction_step(
            state, here.engine_rpm, here.altitude_m, system, rotor, faults, step_s if i > 0 else 0.0
        )
        put_drive(rows[i], state)


def fly_suction(
    samples: Samples,
    starts: NDArray[np.int64],
    sizes: NDArray[np.float64],
    system: SuctionSystem,
    rotor: Rotor,
    state: SuctionState,
) -> NDArray[np.void]:
    """The drive along a whole motion.

    Args:
        samples: (n,) of `flight.motion.SAMPLE`, one every `STEP_S`.
        starts: (k,) samples with which segments of unchanging faults begin, the first 0, increasing.
        sizes: (k, 6) fault sizes in each segment, as `faults.fault_segments` gives both.
        system: the air system.
        rotor: the rotor.
        state: the drive at the first sample.

    Returns:
        (n,) of `DRIVE_SAMPLE`. A row's torque is the mean over the step that ends there; in the first
        row it is the torque of that moment.
    """
    rows = np.zeros(len(samples), dtype=DRIVE_SAMPLE)
    plain_system = SuctionSystem(*(float(value) for value in system))
    plain_rotor = Rotor(*(float(value) for value in rotor))
    _fly(samples, starts, np.asarray(sizes, dtype=np.float64), plain_system, plain_rotor, state, STEP_S, rows)
    return rows
