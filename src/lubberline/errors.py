"""What a person did wrong, said so that they can mend it."""

from __future__ import annotations

from difflib import get_close_matches


class InputError(ValueError):
    """Bad input from a person: says what is wrong, where, and what would be right.

    Attributes:
        where: file, and line or field, or the option that was given.
        wrong: what was found there.
        right: what would be accepted instead.
    """

    def __init__(self, where: str, wrong: str, right: str) -> None:
        self.where = where
        self.wrong = wrong
        self.right = right
        super().__init__(f"{where}: {wrong}; {right}")


def nearest_of(found: str, allowed: list[str]) -> str:
    """A phrase naming the nearest allowed word, or all of them when none is near."""
    near = get_close_matches(found, allowed, n=1)
    if near:
        return f"did you mean '{near[0]}'?"
    return "allowed: " + ", ".join(allowed)
