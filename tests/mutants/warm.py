"""A pytest plugin: takes over compiled kernels that a broken law does not touch, before tests are collected.

What was compiled from the same file at the same place, with the same time of change, may be used again. Not
so kernels of modules that import the broken one: Numba would not notice.
"""

import json
import os
from collections.abc import Iterator
from pathlib import Path

import numba
import pytest

KEPT, STALE = "MUTANTS_KEPT", "MUTANTS_STALE"


def _files(folder: Path, stale: set[str]) -> Iterator[tuple[Path, Path]]:
    """Compiled files, with their place in the folder, but those of stale modules (as `folder/module`)."""
    for file in folder.rglob("*.nb?"):
        place = file.relative_to(folder)
        if f"{place.parts[0].rpartition('_')[0]}/{file.name.partition('.')[0]}" not in stale:
            yield file, place


def _linked(here: Path, there: Path, stale: set[str]) -> None:
    for file, place in _files(here, stale):
        target = there / place
        target.parent.mkdir(parents=True, exist_ok=True)
        # An index that has grown takes the place of the one that it grew from.
        if target.exists() and not target.samefile(file):
            target.unlink()
        if not target.exists():
            os.link(file, target)


def pytest_configure(config: pytest.Config) -> None:
    """Fill this run's own folder of compiled kernels."""
    import lubberline.compiled  # noqa: F401 - names the folder

    kept, stale = os.environ.get(KEPT), set(json.loads(os.environ.get(STALE, "[]")))
    if kept:
        _linked(Path(kept), Path(numba.config.CACHE_DIR), stale)


def pytest_unconfigure(config: pytest.Config) -> None:
    """Keep what was compiled of unbroken modules for the next run."""
    kept, stale = os.environ.get(KEPT), set(json.loads(os.environ.get(STALE, "[]")))
    if kept:
        _linked(Path(numba.config.CACHE_DIR), Path(kept), stale)
