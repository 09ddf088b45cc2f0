"""The drive of the gyros along a flight and on the bench: gauge, rotor, and the flow of the air."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from lubberline.flight.motion import STEP_S
from lubberline.instruments.instrument import Laws, Met, Rows
from lubberline.instruments.suction import SUCTION
from lubberline.instruments.suction.drive import SuctionState
from lubberline.simulation.fitted import Fitted, Frame, Held
from lubberline.simulation.live.state import Believer, BenchState, Carried, Stretch
from lubberline.simulation.live.view import rounded
from lubberline.simulation.panel import Panel, Readings
from lubberline.units import INHG_PA, RAD_PER_RPM

# The rotor is shown this much slower than it turns.
SLOWED = 400.0
GRAMS_PER_KG = 1000.0


@dataclass(frozen=True, slots=True)
class HeldDrive(Held):
    """A drive on the bench; `turns` are those of the rotor, slowed down to be seen."""

    turns: float


class Suction(Fitted):
    """The drive: nobody has a wrong law of it, and all who hold the same aircraft see the same."""

    def columns(self, panel: Panel, readings: Readings, index: Any) -> dict[str, Any]:
        """Its columns of the trace."""
        drive = readings.of[self.name][index]
        return {
            "gauge_inhg": drive["gauge_pa"] / INHG_PA,
            "instrument_suction_inhg": drive["instrument_pa"] / INHG_PA,
            "rotor_rpm": drive["rotor_rad_s"] / RAD_PER_RPM,
        }

    def begin(self, met: Met, carried: Carried, laws: Laws) -> HeldDrive:
        """Settled, the step before like now."""
        held = super().begin(met, carried, laws)
        return HeldDrive(held.state, held.rows[[0, 0]], 0.0)

    def advance(
        self, held: HeldDrive, met: Met, rows: Mapping[str, Any], carried: Carried, laws: Laws
    ) -> tuple[HeldDrive, Rows]:
        """The drive at the last sample of a stretch, its rotor turned on."""
        state, shown = self.stepped(held, met, rows, carried, laws)
        turns = shown["rotor_rad_s"] * (STEP_S / (2.0 * math.pi) / SLOWED)
        turns[0] = held.turns
        return HeldDrive(state, shown[-2:].copy(), float(np.cumsum(turns)[-1])), shown

    def shown(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """Gauge and rotor."""
        drive = carried.shared[self.name].rows[-1]
        return {
            "gauge_inhg": rounded(drive["gauge_pa"] / INHG_PA, 3),
            "rotor_rpm": rounded(drive["rotor_rad_s"] / RAD_PER_RPM, 1),
        }

    def ghost(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """Nothing: nobody expects another drive."""
        return {}

    def inside(self, state: BenchState, carried: Carried, finger_nm: float) -> Frame:
        """The flow of the air; none of an electric drive."""
        drive = carried.shared[self.name].state
        if not isinstance(drive, SuctionState):
            return {"air": None}
        flow = drive.airflow
        air = {
            "engine_rpm": rounded(flow.engine_rpm, 0),
            "manifold_inhg": rounded(flow.manifold_pa / INHG_PA, 3),
            "instrument_inhg": rounded(flow.instrument_pa / INHG_PA, 3),
            "filter_inhg": rounded((flow.manifold_pa - flow.instrument_pa) / INHG_PA, 3),
            "pump_g_s": rounded(flow.pump_kg_s * GRAMS_PER_KG, 3),
            "instrument_g_s": rounded(flow.instrument_kg_s * GRAMS_PER_KG, 3),
            "regulator_g_s": rounded(flow.regulator_kg_s * GRAMS_PER_KG, 3),
            "leak_g_s": rounded(flow.leak_kg_s * GRAMS_PER_KG, 3),
            "jet_mps": rounded(flow.jet_mps, 1),
        }
        return {"air": air}

    def series(self, after: BenchState, way: Stretch, number: Any) -> dict[str, Any]:
        """Rotor and gauge."""
        drive = way.rows[self.name][number]
        return {
            "rotor_rpm": drive["rotor_rad_s"] / RAD_PER_RPM,
            "gauge_inhg": drive["gauge_pa"] / INHG_PA,
        }


FITTED = Suction(SUCTION)
