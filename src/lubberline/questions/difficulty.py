"""Prior difficulty of an item, before any class has answered it.

The numbers are a stated guess (no source): they only have to order items and to let parallel papers be
matched; data of a class replace them.
"""

from __future__ import annotations

EASIEST = 0.15
PER_STEP = 0.09
PER_SIGN = 0.06
PER_LIVE_DISTRACTOR = 0.03
GREATEST = 0.9


def prior_difficulty(steps: int, signs: int, live: int) -> float:
    """Expected share of a class that gets it wrong.

    Args:
        steps: steps of thought to the key.
        signs: directions that have to be turned over.
        live: distractors that somebody's idea leads to (a number to write down has none to choose from,
            but as many to fall for).
    """
    found = EASIEST + PER_STEP * steps + PER_SIGN * signs + PER_LIVE_DISTRACTOR * live
    return round(min(found, GREATEST), 3)
