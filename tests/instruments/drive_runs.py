"""A drive flown from any state along samples, by the engine's own loop over faults."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lubberline.instruments.faults import Faults
from lubberline.instruments.instrument import Met, fly_instrument
from lubberline.instruments.suction import ROTOR, SUCTION
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import DriveState, ElectricDrive, balanced_drive


def fly_drive(
    samples: NDArray[np.void],
    changes: dict[int, Faults],
    system: SuctionSystem | ElectricDrive,
    state: DriveState,
) -> NDArray[np.void]:
    def settle(met, fitted, before, faults, laws, rows):
        return balanced_drive(state, met.samples[0], faults, fitted, ROTOR, rows)

    met = Met(samples, samples, np.zeros(len(samples)), {})
    first = next(iter(changes.values()))
    return fly_instrument(replace(SUCTION, settle=settle), met, system, first, [*changes.items()], None)
