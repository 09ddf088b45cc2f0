"""Seeded draws in the trade's usual steps: the same seed and model give the same values."""

import hashlib
from collections.abc import Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")


def random_of(*parts: object) -> Random:
    """A source of chance that depends on these parts alone, on every machine and in every process."""
    digest = hashlib.blake2b("/".join(map(str, parts)).encode(), digest_size=8).digest()
    return Random(int.from_bytes(digest, "big"))


class Draw:
    """Draws values for one item."""

    def __init__(self, random: Random) -> None:
        self.random = random

    def step(self, low: float, high: float, step: float) -> float:
        """One of low, low + step, ... high."""
        count = round((high - low) / step)
        value = low + step * self.random.randrange(count + 1)
        return round(value, 6)

    def pick(self, choices: Sequence[T]) -> T:
        """One of several, with equal chances."""
        return choices[self.random.randrange(len(choices))]

    def heading_deg(self, step: int = 5) -> float:
        """A heading in steps, above 0 up to 360: north is 360, as the trade writes it."""
        return float(step * (1 + self.random.randrange(360 // step)))

    def latitude_deg(self, low: int, high: int, step: int = 1) -> float:
        """A latitude between two sizes, in either hemisphere; north positive."""
        return self.step(low, high, step) * self.pick((1.0, 1.0, -1.0))

    def signed(self, low: float, high: float, step: float) -> float:
        """A value of either sign with a size between two sizes."""
        return self.step(low, high, step) * self.pick((-1.0, 1.0))
