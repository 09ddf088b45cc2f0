"""Options read as ranges of numbers, to see whether two of them can be right at once."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

NUMBER = r"[-−+]?\d+(?:[.,]\d+)?"
RANGE = re.compile(
    rf"^(?P<before>.*?)(?P<low>{NUMBER})(?P<unit>[^\w\s]*)\s*(?:to|and|–|-)\s*(?P<high>{NUMBER})(?P<after>.*)$"
)
SINGLE = re.compile(rf"^(?P<before>.*?)(?P<value>{NUMBER})(?P<after>.*)$")
# Words before a number that open a range: whether it reaches up, and whether it holds the number itself.
OPENERS: dict[str, tuple[bool, bool]] = {
    "more than": (True, False),
    "greater than": (True, False),
    "over": (True, False),
    "above": (True, False),
    "at least": (True, True),
    "no less than": (True, True),
    "less than": (False, False),
    "fewer than": (False, False),
    "under": (False, False),
    "below": (False, False),
    "at most": (False, True),
    "no more than": (False, True),
    "up to": (False, True),
}
AFTER = {
    "or more": (True, True),
    "and more": (True, True),
    "or less": (False, True),
    "or fewer": (False, True),
}


class Interval(NamedTuple):
    """The numbers that an option stands for.

    Attributes:
        low, high: its ends, infinite where it is open.
        holds_low, holds_high: whether an end belongs to it.
        before, after: the words around; only options with the same words are of one scale.
    """

    low: float
    high: float
    holds_low: bool
    holds_high: bool
    before: str
    after: str

    def meets(self, other: Interval) -> bool:
        """Whether a number lies in both."""
        if (self.before, self.after) != (other.before, other.after):
            return False
        first, second = sorted((self, other), key=lambda one: (one.low, not one.holds_low))
        if first.high == second.low:
            return first.holds_high and second.holds_low
        return second.low < first.high


def _value(text: str) -> float:
    return float(text.replace("−", "-").replace(",", "."))


def _bare(text: str) -> str:
    return " ".join(text.casefold().strip(" .").removeprefix("between").removeprefix("from").split())


def interval_of(text: str) -> Interval | None:
    """The range or the single number of an option; None for words, or for more numbers than that."""
    found = RANGE.match(text)
    if found:
        low, high = _value(found["low"]), _value(found["high"])
        if re.search(r"\d", found["after"]) or low > high:
            return None
        after = (
            f"{found['unit']} {found['after']}"
            if not found["after"].startswith(found["unit"])
            else found["after"]
        )
        return Interval(low, high, True, True, _bare(found["before"]), _bare(after))
    found = SINGLE.match(text)
    if not found or re.search(r"\d", found["after"]):
        return None
    return _opened(_value(found["value"]), _bare(found["before"]), _bare(found["after"]))


def _opened(value: float, before: str, after: str) -> Interval:
    opener = next((words for words in OPENERS if before == words or before.endswith(f" {words}")), "")
    closer = next((words for words in AFTER if after == words or after.endswith(f" {words}")), "")
    if not opener and not closer:
        return Interval(value, value, True, True, before, after)
    up, holds = OPENERS[opener] if opener else AFTER[closer]
    before = before.removesuffix(opener).strip() if opener else before
    after = after.removesuffix(closer).strip() if closer else after
    if up:
        return Interval(value, math.inf, holds, False, before, after)
    return Interval(-math.inf, value, False, holds, before, after)
