"""Every wrong idea changes the laws, changes what is shown, and is mended in words with a source."""

from __future__ import annotations

import numpy as np
import pytest

from lubberline import fly
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.laws import PHYSICS, Laws
from lubberline.simulation.misconceptions import ALL, BY_ID, PHYSICAL, Misconception
from tests.flights import SET, STRAIGHT, TURN, legs

AIRCRAFT = aircraft_from_text(
    "t",
    "[heading_indicator]\nreal_wander_deg_15min=2\nrandom_wander_deg_15min=0\nbalance_latitude_deg=45\n"
    "[[fault]]\nname='pump'\nsize=0.85",
)


def test_ids_are_unique_and_texts_are_there() -> None:
    assert len(BY_ID) == len(ALL) >= 10
    for idea in ALL:
        assert idea.kind == PHYSICAL
        assert len(idea.statement) > 10
        assert len(idea.mend) > 20
        assert idea.source


def test_every_change_names_a_law_and_differs_from_physics() -> None:
    for idea in ALL:
        for name, value in idea.change.items():
            assert name in Laws._fields
            assert getattr(PHYSICS, name) != value


@pytest.mark.parametrize("idea", ALL, ids=lambda idea: idea.id)
def test_it_can_be_told_from_the_truth(idea: Misconception) -> None:
    """On a southern flight with a turn, a setting in the turn and a slow rotor."""
    flown = fly(
        legs(
            STRAIGHT.format(6),
            TURN.format(200, 25),
            SET.format("compass"),
            TURN.format(120, 25),
            STRAIGHT.format(22),
            latitude_deg=-50.0,
            heading_deg=130.0,
        ),
        AIRCRAFT,
        believe=[idea.id],
    )
    apart = flown.believed[0].trace["indicated_heading_deg"] - flown.trace.indicated_heading_deg
    assert np.max(np.abs((apart + 180.0) % 360.0 - 180.0)) > 0.3
