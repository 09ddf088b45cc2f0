"""The sentence that mends a wrong answer, by the id of the misconception or slip it comes from."""

from __future__ import annotations

from functools import cache

from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import misconception


@cache
def mend_of(idea: str) -> str:
    """The sentence that mends the misconception or slip with this id."""
    if idea in SLIPS:
        return SLIPS[idea].mend
    return misconception(idea).mend
