"""The magnetic compass along a flight and on the bench."""

from dataclasses import replace
from typing import Any

import numpy as np

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.instruments.compass import COMPASS
from lubberline.instruments.compass.reading import COMPASS_ROW, carry_compass
from lubberline.instruments.instrument import Laws
from lubberline.simulation.fitted import Fitted, Frame, Held
from lubberline.simulation.live.state import Believer, BenchState, Carried, Stretch
from lubberline.simulation.live.view import shown_rose_deg, shown_signed_deg
from lubberline.simulation.panel import Panel, Readings
from lubberline.units import DEG


class MagneticCompass(Fitted):
    """The compass: its error is against magnetic heading."""

    def columns(self, panel: Panel, readings: Readings, index: Any) -> dict[str, Any]:
        """Its columns of the trace."""
        compass = rose_deg(readings.of[self.name]["reading_rad"][index] / DEG)
        magnetic = panel.motion.samples["heading_rad"][index] - panel.variation_rad[index]
        return {"compass_deg": compass, "compass_error_deg": wrapped_deg(compass - magnetic / DEG)}

    def again(self, state: BenchState, carried: Carried, held: Held, laws: Laws) -> Held:
        """A card that has not moved, but whose error has changed."""
        rows = np.zeros(1, dtype=COMPASS_ROW)
        under, here = laws.of(COMPASS.laws), state.samples[1:2]
        carry_compass(held.state, here, state.field, carried.fitted[self.name], under, rows)
        return replace(held, rows=rows)

    def shown(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """Its reading and error."""
        compass = float(believer.held[self.name].rows[-1]["reading_rad"])
        magnetic = float(state.samples[1]["heading_rad"]) - state.variation_rad
        return {
            "compass_deg": shown_rose_deg(compass),
            "compass_error_deg": shown_signed_deg(compass - magnetic),
        }

    def inside(self, state: BenchState, carried: Carried, finger_nm: float) -> Frame:
        """Nothing more: the bench draws only its reading."""
        return {}

    def ghost(self, state: BenchState, carried: Carried, believer: Believer) -> Frame:
        """A believer's reading."""
        return {"compass_deg": shown_rose_deg(float(believer.held[self.name].rows[-1]["reading_rad"]))}

    def series(self, after: BenchState, way: Stretch, number: Any) -> dict[str, Any]:
        """Its reading."""
        return {"compass_deg": rose_deg(way.rows[self.name][number]["reading_rad"] / DEG)}


FITTED = MagneticCompass(COMPASS)
