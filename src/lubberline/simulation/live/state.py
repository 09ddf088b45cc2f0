"""The bench at a step: everything the next step depends on, never changed but replaced."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import STEP_S, Samples
from lubberline.flight.steering import Steer, Steered
from lubberline.instruments.compass.reading import Compass, CompassState
from lubberline.instruments.faults import Faults
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroState
from lubberline.instruments.suction.drive import ElectricState, SuctionState
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.laws import Laws
from lubberline.simulation.live.field import FieldNear

Rows = NDArray[np.void]
TRUTH = ""
# Rows kept of the last steps: a second, both ends included.
RECENT = round(1.0 / STEP_S) + 1


@dataclass(frozen=True, slots=True)
class Setting:
    """The last setting of a card.

    Attributes:
        step: when.
        variation_rad: then.
        errors_deg: what was wrong then by cause, and 'believed_deg', as `ledger.errors_when_set`.
    """

    step: int
    variation_rad: float
    errors_deg: dict[str, float]


@dataclass(frozen=True, slots=True)
class Believer:
    """A heading indicator and a compass under one set of laws: the truth, or a ghost.

    Attributes:
        id: of the wrong idea; `TRUTH` for the truth.
        laws: its laws.
        gyro: its gyro.
        compass: its compass card.
        setting: when it was last set.
        geometry_deg: bank and pitch's part since then, unwrapped.
        rows: `HEADING_ROW` records of the last second or since it was set, the last of them now.
        compass_row: `COMPASS_ROW`, one record, now.
    """

    id: str
    laws: Laws
    gyro: GyroState
    compass: CompassState
    setting: Setting
    geometry_deg: float
    rows: Rows
    compass_row: Rows


@dataclass(frozen=True, slots=True)
class Carried:
    """The instruments of one aircraft.

    Attributes:
        aircraft: what they are.
        seed: of what chance decides in them.
        gyro: the heading indicator's gyro.
        compass: the compass.
        faults: what is wrong now.
        drive_state: the air or the motor.
        drive: `DRIVE_SAMPLE` records of the step before and of now.
        believers: the truth first, then the ghosts.
        rotor_turns: of the rotor, slowed down to be seen.
    """

    aircraft: Aircraft
    seed: int
    gyro: Gyro
    compass: Compass
    faults: Faults
    drive_state: SuctionState | ElectricState
    drive: Rows
    believers: tuple[Believer, ...]
    rotor_turns: float

    @property
    def truth(self) -> Believer:
        """The instruments as they are."""
        return self.believers[0]


@dataclass(frozen=True, slots=True)
class BenchState:
    """Everything at a step.

    Attributes:
        step: since the start, `STEP_S` each.
        seed: of the rough air and of what chance decides in the first instruments.
        decimal_year: the date, for the magnetic field.
        steered: the aircraft one step ahead.
        steer: what it is told to do.
        flying_mps: airspeed to go back to after taxiing.
        samples: `SAMPLE` records of the step before, of now (complete both) and of the next (begun).
        near: how the field is had from place.
        field: `FIELD_SAMPLE`, one record, now.
        variation_rad: unwrapped, now.
        finger_nm: a finger on the first aircraft's card.
        true_reference: errors and settings are by true heading.
        actions: settings and cagings so far, which number the pilot's misreadings.
        carried: the instruments of one aircraft, or of two side by side.
    """

    step: int
    seed: int
    decimal_year: float
    steered: Steered
    steer: Steer
    flying_mps: float
    samples: Samples
    near: FieldNear
    field: Rows
    variation_rad: float
    finger_nm: float
    true_reference: bool
    actions: int
    carried: tuple[Carried, ...]

    @property
    def time_s(self) -> float:
        """Since the start."""
        return self.step * STEP_S

    @property
    def reference_rad(self) -> float:
        """The heading that errors are against."""
        heading = float(self.samples[1]["heading_rad"])
        return heading if self.true_reference else heading - self.variation_rad
