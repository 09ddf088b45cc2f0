"""Many seeds of one flight: each as if flown alone, whatever the number of workers."""

import numpy as np
import pytest

from lubberline import InputError, fly
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.flying import fly_ensemble, prepare_flight
from tests.flights import STRAIGHT, busy, legs

AIRCRAFT = aircraft_from_text(
    "t",
    "[heading_indicator]\nreal_wander_sd_deg_15min=1\nrandom_wander_deg_15min=0.3\n[pilot]\nmisreading_sd_deg=1",
)


def test_a_member_is_the_flight_of_its_seed() -> None:
    panel, actions = prepare_flight(busy(), AIRCRAFT, set_every_min=6.0)
    found = fly_ensemble(panel, actions, 4, seed=10, workers=2)
    alone = fly(busy(), AIRCRAFT, set_every_min=6.0, seed=12).trace.heading_error_deg
    np.testing.assert_allclose(found.heading_error_deg[2], alone, atol=1e-4)


def test_workers_do_not_change_the_result() -> None:
    panel, actions = prepare_flight(legs(STRAIGHT.format(5)), AIRCRAFT)
    one, two = (fly_ensemble(panel, actions, 6, workers=n).heading_error_deg for n in (1, 2))
    np.testing.assert_array_equal(one, two)


def test_spread_is_that_of_the_instruments() -> None:
    """Healthy instruments: real wander of either sign, sd 1 deg in 15 min (common practice, no source)."""
    panel, actions = prepare_flight(legs(STRAIGHT.format(15.2)), AIRCRAFT)
    found = fly_ensemble(panel, actions, 300)
    assert np.std(found.heading_error_deg[:, 900]) == pytest.approx(1.0, abs=0.15)
    columns = found.columns
    assert np.all(columns["error_p05_deg"] <= columns["error_p95_deg"])


def test_progress_is_told_and_nonsense_refused() -> None:
    panel, actions = prepare_flight(legs(STRAIGHT.format(1)), AIRCRAFT)
    told: list[tuple[int, int]] = []
    fly_ensemble(panel, actions, 3, progress=lambda done, members: told.append((done, members)))
    assert told == [(1, 3), (2, 3), (3, 3)]
    with pytest.raises(InputError, match="members"):
        fly_ensemble(panel, actions, 0)
