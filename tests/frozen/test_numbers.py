"""The numbers of an earlier day are found again; scenes and verdicts where they are flown anyway.

See `tests/simulation/test_scene_library.py` and `tests/upkeep/test_demo_fleet.py`.
"""

import copy
import math
from pathlib import Path

import pytest

from tests.frozen import numbers
from tests.frozen.numbers import differences, frozen

GREATEST_BYTES = 3_000_000
SAMPLE_SEEDS = range(4)


def test_flights_are_what_they_were() -> None:
    assert list(differences(frozen("flights"), numbers.flights())) == []


def test_some_items_of_every_model_are_what_they_were() -> None:
    now = numbers.items(SAMPLE_SEEDS)
    then = frozen("items")
    assert list(differences({name: then[name] for name in now}, now)) == []


def test_the_results_of_old_records_are_what_they_were() -> None:
    assert list(differences(frozen("old_classes"), numbers.old_classes())) == []


@pytest.mark.acceptance
@pytest.mark.parametrize("kind", numbers.KINDS)
def test_everything_is_what_it_was(kind: str) -> None:
    assert list(differences(frozen(kind), numbers.KINDS[kind]())) == []


def test_there_is_something_of_every_kind() -> None:
    then = {kind: frozen(kind) for kind in numbers.KINDS}
    assert len(then["scenes"]) >= 29
    flown = [step for one in then["scenes"].values() for step in one.get("steps", [one])]
    assert sum(len(one["claims"]) for one in flown) >= 3 * len(then["scenes"])
    assert len(then["flights"]) >= 8
    assert len(then["items"]) >= 50 * 69
    assert all(len(of_class["diagnosis"]) >= 4 for of_class in then["old_classes"].values())
    assert len(then["demo"]["diagnosis"]) == len(then["demo"]["readiness"]) == 14
    assert {one["verdict"] for one in then["verdicts"].values()} == {"earth", "look"}
    folder = Path(numbers.__file__).parent
    assert sum(path.stat().st_size for path in folder.rglob("*.*")) < GREATEST_BYTES


@pytest.mark.parametrize(
    ("then", "now", "same"),
    [
        (1.0, 1.0 + 5e-10, True),
        (1000.0, 1000.0 + 5e-7, True),
        (1000.0, 1000.0 + 5e-6, False),
        (0.0, 5e-10, True),
        (0.0, 5e-9, False),
        (math.nan, math.nan, True),
        (math.nan, 1.0, False),
        (3, 4, False),
        (True, 1, False),
        ("look", "earth", False),
        ("1|2.5||east", "1|2.5||east", True),
        ("1|2.5", "1|2.5000000001", True),
        ("1|2.5", "1|2.6", False),
        ("1|2.5", "1", False),
    ],
)
def test_what_counts_as_the_same(then: object, now: object, same: bool) -> None:
    assert (list(differences({"a": [then]}, {"a": [now]})) == []) is same


def test_what_is_there_on_one_side_only_is_told() -> None:
    then = frozen("verdicts")
    now = copy.deepcopy(then)
    now["zz_oak"]["estimate"]["new"] = 1.0
    now["zz_elm"]["faults"].pop()
    del now["zz_fir"]
    told = sorted(differences(then, now))
    assert len(told) == 3
    assert "only now" in told[1] or "only now" in told[2]
