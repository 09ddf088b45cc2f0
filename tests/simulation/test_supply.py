"""What a panel runs on, and a venturi. Which source drives what: common practice, no source."""

from itertools import combinations

import pytest

from lubberline.questions.belief import Belief
from lubberline.simulation.misconceptions import STRUCTURAL
from lubberline.simulation.supply import (
    BUS,
    GYROS,
    INSTRUMENTS,
    SUCTION,
    TRUE_SUPPLY,
    Plumbing,
    SupplyLaws,
    running,
    venturi_inhg,
)

USUAL = dict(zip(GYROS, (SUCTION, SUCTION, BUS), strict=True))
SPLIT = dict(zip(GYROS, (SUCTION, BUS, BUS), strict=True))


def lost(drives: dict[str, str], pumps: int, failed: str, idea: str = "") -> set[str]:
    left = running(Plumbing(drives, pumps), failed, Belief(idea).supply)
    return set(INSTRUMENTS) - left


@pytest.mark.parametrize(
    ("drives", "pumps", "failed", "idea", "gone"),
    [
        (USUAL, 1, "pump 1", "", {"attitude", "heading"}),
        (USUAL, 2, "pump 2", "", set()),
        (USUAL, 1, BUS, "", {"turn"}),
        (SPLIT, 1, "pump 1", "", {"attitude"}),
        (USUAL, 1, "pump 1", "gyros-run-on-suction", {"attitude", "heading", "turn"}),
        (USUAL, 1, BUS, "gyros-run-on-the-bus", {"attitude", "heading", "turn"}),
        (SPLIT, 1, "pump 1", "heading-indicator-always-on-suction", {"attitude", "heading"}),
        (USUAL, 1, BUS, "suction-pump-is-electric", {"attitude", "heading", "turn"}),
        (USUAL, 1, BUS, "dead-bus-dead-panel", {"attitude", "heading", "turn", "compass"}),
        (USUAL, 2, "pump 1", "each-pump-has-its-own-instruments", {"attitude"}),
        (USUAL, 2, "pump 1", "suction-needs-both-pumps", {"attitude", "heading"}),
    ],
)
def test_what_a_failure_takes(
    drives: dict[str, str], pumps: int, failed: str, idea: str, gone: set[str]
) -> None:
    assert lost(drives, pumps, failed, idea) == gone


def test_a_venturi_gives_by_the_square_of_the_airspeed() -> None:
    """Bernoulli's theorem: a quarter of the drop at half the speed."""
    assert venturi_inhg(4.0, 100.0, 50.0) == pytest.approx(1.0)
    assert venturi_inhg(4.0, 100.0, 50.0, Belief("venturi-in-proportion").supply) == pytest.approx(2.0)
    assert venturi_inhg(4.0, 100.0, 50.0, Belief("venturi-from-its-rated-speed").supply) == 0.0
    assert venturi_inhg(4.0, 100.0, 0.0, Belief("venturi-by-the-engine").supply) == 4.0


def test_every_law_of_supply_is_somebodys_idea_and_no_two_ideas_are_the_same() -> None:
    changes = [dict(idea.change) for idea in STRUCTURAL]
    assert {name for change in changes for name in change} == set(SupplyLaws._fields)
    assert all(one != other for one, other in combinations(changes, 2))
    assert all(Belief(idea.id).supply != TRUE_SUPPLY for idea in STRUCTURAL)
