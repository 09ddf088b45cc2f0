"""The electric drive of a gyro: a motor that holds the frequency of its supply, as far as its torque goes.

The supply's converter follows its voltage, so a failing supply lowers the frequency in proportion and
the motor's torque by the square. There is no gauge to show it. The housing is open to the cabin: windage goes
by the cabin's density.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.compiled import kernel
from lubberline.earth.atmosphere import density_ratio
from lubberline.flight.motion import STEP_S, Samples
from lubberline.instruments.drive import DRIVE_SAMPLE
from lubberline.instruments.faults import Faults
from lubberline.instruments.rotor import Rotor, rotor_step, steady_speed_rad_s, wear_factor
from lubberline.instruments.suction import faults_of
from lubberline.units import RAD_PER_RPM


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
    """The drive at a moment; its first four fields are those of `DRIVE_SAMPLE`."""

    rotor_rad_s: float
    spin_torque_nm: float
    levelling_fraction: float
    wear_factor: float


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
    return ElectricState(speed, 0.0, voltage, wear_factor(faults.bearings_worn, rotor))


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
    return ElectricState(speed, torque, voltage, wear_factor(faults.bearings_worn, rotor))


@kernel
def put_electric(row: Any, state: ElectricState) -> None:
    """Write the drive into a `DRIVE_SAMPLE`, without a gauge."""
    row.rotor_rad_s = state.rotor_rad_s
    row.spin_torque_nm = state.spin_torque_nm
    row.levelling_fraction = state.levelling_fraction
    row.wear_factor = state.wear_factor
    row.gauge_pa = math.nan
    row.instrument_pa = math.nan


@kernel
def carry_electric(
    state: ElectricState, samples: Any, faults: Faults, drive: ElectricDrive, rotor: Rotor, rows: Any
) -> ElectricState:
    """The drive from sample 0 to the last with unchanging faults; fills `rows` from the second on."""
    for i in range(1, rows.shape[0]):
        state = electric_step(state, samples[i].altitude_m, drive, rotor, faults, STEP_S)
        put_electric(rows[i], state)
    return state


@kernel
def _fly(
    samples: Any,
    starts: NDArray[np.int64],
    sizes: NDArray[np.float64],
    drive: ElectricDrive,
    rotor: Rotor,
    state: ElectricState,
    step_s: float,
    rows: Any,
) -> None:
    segment = 0
    faults = faults_of(sizes[0])
    for i in range(samples.shape[0]):
        while segment + 1 < starts.shape[0] and starts[segment + 1] <= i:
            segment += 1
            faults = faults_of(sizes[segment])
        state = electric_step(state, samples[i].altitude_m, drive, rotor, faults, step_s if i > 0 else 0.0)
        put_electric(rows[i], state)


def fly_electric(
    samples: Samples,
    starts: NDArray[np.int64],
    sizes: NDArray[np.float64],
    drive: ElectricDrive,
    rotor: Rotor,
    state: ElectricState,
) -> NDArray[np.void]:
    """The drive along a whole motion; arguments and rows as in `suction.fly_suction`, gauge nan."""
    rows = np.zeros(len(samples), dtype=DRIVE_SAMPLE)
    plain_drive = ElectricDrive(*(float(value) for value in drive))
    plain_rotor = Rotor(*(float(value) for value in rotor))
    _fly(samples, starts, np.asarray(sizes, dtype=np.float64), plain_drive, plain_rotor, state, STEP_S, rows)
    return rows
