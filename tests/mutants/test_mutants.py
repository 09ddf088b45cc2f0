"""No law or fault is less caught than before: every mutant still fits the sources, and is still killed."""

import os
from pathlib import Path

import pytest

from tests.mutants.catalogue import ROOT, mutants, squeezed, standing
from tests.mutants.run import KILLED, found_by_run, killed_before, killers, table_of

COUNT = 100


def test_there_are_a_hundred_and_each_text_stands_once_in_the_sources() -> None:
    listed = mutants()
    assert len({mutant.id for mutant in listed}) == len(listed) == COUNT
    counts = {mutant.id: standing(mutant) for mutant in listed}
    assert not {id: count for id, count in counts.items() if count != 1}


def test_each_changes_something_and_has_tests_to_notice() -> None:
    listed = mutants()
    assert not [one.id for one in listed if squeezed(one.was) == squeezed(one.now)]
    assert not [one.id for one in listed if not all((ROOT / folder).is_dir() for folder in one.folders)]


def test_what_was_killed_before_is_listed() -> None:
    assert killed_before() <= {mutant.id for mutant in mutants()}


def test_what_was_killed_before_was_killed_when_all_were_last_run() -> None:
    assert killed_before() <= set(killers())
    assert set(killers()) <= {mutant.id for mutant in mutants()}


@pytest.mark.acceptance
@pytest.mark.skipif(not hasattr(os, "fork"), reason="runs its tests in forks of one process")
def test_none_survives_that_was_killed_before(tmp_path: Path) -> None:
    found = found_by_run(tmp_path)
    killed = {one.id for one in found if one.outcome == KILLED}
    assert killed_before() <= killed, table_of(found)
