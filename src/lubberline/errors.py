"""The two kinds of fault: bad input, and things that are temporarily unavailable.

Both have a code. Programs, in Python and in the pages, use the code; the words are only for people.
"""

from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from difflib import get_close_matches
from itertools import accumulate
from typing import Literal, TypeVar

# The code of an `InputError` that no program has to tell from others.
INPUT = "input"
LONGEST_PART = 1_000
# Of the faults of one file: more would be read by nobody.
LONGEST_TOLD = 4_000

T = TypeVar("T")
UnavailableCode = Literal["unreachable", "locked", "full", "read-only", "connections", "busy"]


class InputError(ValueError):
    """Bad input from a person: says what is wrong, where, and what would be right.

    Attributes:
        where: file, and line or field, or the option that was given.
        wrong: what was found there.
        right: what would be accepted instead.
        code: for programs, such as 'sitting-closed'; 'input' if no program has to tell it from others.
    """

    def __init__(self, where: str, wrong: str, right: str, code: str = INPUT) -> None:
        # The value found may be as long as a file.
        self.where, self.wrong, self.right = (_shortened(text) for text in (where, wrong, right))
        self.code = code
        super().__init__(f"{self.where}: {self.wrong}; {self.right}")


class FieldError(InputError):
    """Bad input in a field of a file.

    Attributes:
        path: keys, and places in lists from 0, that lead to the field.
    """

    def __init__(self, path: tuple[str | int, ...], where: str, wrong: str, right: str) -> None:
        self.path = path
        super().__init__(where, wrong, right)


class FileError(FieldError):
    """All that is wrong with one file, a line each; its fields are those of the first.

    Attributes:
        all: the faults in the order of the file.
    """

    def __init__(self, faults: Sequence[InputError]) -> None:
        first = faults[0]
        super().__init__(
            first.path if isinstance(first, FieldError) else (), first.where, first.wrong, first.right
        )
        self.all = tuple(faults)
        lines = [str(fault) for fault in faults]
        length = accumulate(len(line.encode()) for line in lines)
        told = max(1, sum(so_far <= LONGEST_TOLD for so_far in length))
        left = len(lines) - told
        self.args = ("\n".join([*lines[:told], *([f"and {left} more"] if left else [])]),)


class Faults:
    """Collects what is wrong with a file, so that all of it is said at once.

    Attributes:
        found: so far.
    """

    def __init__(self, *found: InputError) -> None:
        self.found = list(found)

    def add(self, fault: InputError) -> None:
        """One more, or all of several."""
        self.found += fault.all if isinstance(fault, FileError) else (fault,)

    @contextmanager
    def noted(self) -> Iterator[None]:
        """What is wrong inside is noted, and the rest is looked at."""
        try:
            yield
        except InputError as error:
            self.add(error)

    def tell(self) -> None:
        """Ends the reading if anything was found.

        Raises:
            InputError: what was found.
        """
        if self.found:
            one, *more = self.found
            raise FileError([one, *more]) if more else one


@contextmanager
def within(*path: str | int) -> Iterator[None]:
    """What is wrong inside is wrong with the field at this path, or with a field below it.

    Raises:
        FieldError: for any bad input.
    """
    try:
        yield
    except InputError as error:
        below = error.path if isinstance(error, FieldError) else ()
        raise FieldError((*path, *below), error.where, error.wrong, error.right) from None


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_PART else text[: LONGEST_PART - 1] + "…"


def in_range(
    where: str,
    value: float,
    low: float,
    high: float,
    wrong: str = "{:g} is out of range",
    right: str = "",
) -> float:
    """The value itself, where it lies between two others; `wrong` says what was found, in `{:g}`.

    Raises:
        InputError: where it does not.
    """
    if not low <= value <= high:
        raise InputError(where, wrong.format(value), right or f"give {low:g} to {high:g}")
    return value


class Unavailable(Exception):  # noqa: N818 - it is nobody's error
    """Something needed is unavailable, locked, full or too busy. Try again later.

    Attributes:
        code: 'unreachable', 'locked', 'full', 'read-only', 'connections' (all are taken) or 'busy'.
        wrong: what is unavailable, without a path, an address or a password.
        right: what to do.
        retry_after_s: when to try again.
    """

    def __init__(self, code: UnavailableCode, wrong: str, right: str, retry_after_s: int = 2) -> None:
        self.code: UnavailableCode = code
        self.wrong = wrong
        self.right = right
        self.retry_after_s = retry_after_s
        super().__init__(f"{wrong}; {right}")


def required(thing: T | None, missing: Exception) -> T:
    """What was looked for.

    Raises:
        Exception: `missing`, where nothing was found.
    """
    if thing is None:
        raise missing
    return thing


def check_known(where: str, what: str, word: str, allowed: Collection[str]) -> None:
    """Whether a word is one of those that there are.

    Raises:
        InputError: it is not; the nearest is named.
    """
    if word not in allowed:
        raise InputError(where, f"there is no {what} '{word[:60]}'", nearest_of(word, list(allowed)))


def nearest_of(found: str, allowed: list[str]) -> str:
    """A phrase with the nearest allowed word, or all of them if none is near."""
    return near_to(found, allowed) or "allowed: " + ", ".join(allowed)


def near_to(found: str, allowed: list[str]) -> str:
    """A phrase with the nearest allowed word; '' if none is near."""
    near = get_close_matches(found, allowed, n=1)
    return f"did you mean '{near[0]}'?" if near else ""
