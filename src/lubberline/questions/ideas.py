"""The sentence that mends a wrong idea, by its id."""

from __future__ import annotations

from functools import cache

from lubberline.simulation.misconceptions import misconception


@cache
def mend_of(idea: str) -> str:
    """The sentence that mends the wrong idea with this id."""
    return misconception(idea).mend
