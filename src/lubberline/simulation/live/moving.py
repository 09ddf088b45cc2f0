"""The bench moved to another place at once, its gyros and cards as they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lubberline.earth.magnetic import FIELD_SAMPLE
from lubberline.flight.derived import put_derived
from lubberline.flight.motion import STEP_S
from lubberline.flight.steering import placed
from lubberline.instruments.compass import COMPASS_ROW, carry_compass
from lubberline.simulation.live.field import field_here, put_field
from lubberline.simulation.live.state import Believer, BenchState, Carried


def moved(state: BenchState, latitude_rad: float, longitude_rad: float) -> BenchState:
    """The bench at another place: Earth, field and variation are those of there, from this step on."""
    samples = state.samples.copy()
    samples["latitude_rad"][1:], samples["longitude_rad"][1:] = latitude_rad, longitude_rad
    before = 0 if state.step else 1
    put_derived(samples, 1, before, 2, (2 - before) * STEP_S)
    steered = placed(state.steered, latitude_rad, longitude_rad)
    near = field_here(latitude_rad, longitude_rad, steered.altitude_m, state.decimal_year)
    field, variation = np.zeros(2, dtype=FIELD_SAMPLE), np.full(2, state.variation_rad)
    put_field(near, state.step - 1, samples[[1, 1]], field, variation)
    here = replace(
        state,
        steered=steered,
        samples=samples,
        near=near,
        field=field[1:].copy(),
        variation_rad=float(variation[1]),
    )
    carried = tuple(
        replace(entry, believers=tuple(_read_again(here, entry, believer) for believer in entry.believers))
        for entry in state.carried
    )
    return replace(here, carried=carried)


def _read_again(state: BenchState, carried: Carried, believer: Believer) -> Believer:
    """A believer whose compass has not moved, but is wrong by something else now."""
    row = np.zeros(1, dtype=COMPASS_ROW)
    carry_compass(believer.compass, state.samples[1:2], state.field, carried.compass, believer.laws, row)
    return replace(believer, compass_row=row)
