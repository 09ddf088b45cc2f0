"""What a slip is: a step of working that a student replaces, and the operations that replace one."""

from collections.abc import Callable
from typing import Any, NamedTuple


class Slip(NamedTuple):
    """A slip.

    Attributes:
        statement: what went wrong, as the student would put it.
        mend: the sentence that corrects it.
        step: the step of working that it replaces, by the name that second ways ask for.
        instead: what it makes of the right outcome of that step, and of what else the second way offers.
    """

    statement: str
    mend: str
    step: str = ""
    instead: Callable[..., Any] | None = None


def negated(value: float) -> float:
    """The other sign."""
    return -value


def times(factor: float) -> Callable[[float], float]:
    """So many times as much."""
    return lambda value: factor * value


def plus(more: float) -> Callable[[float], float]:
    """So much more."""
    return lambda value: value + more


def always(fixed: Any) -> Callable[..., Any]:
    """One outcome, whatever is right."""
    return lambda *_: fixed


def other(_: Any, instead: Any) -> Any:
    """The other of a pair."""
    return instead
