"""What the page can choose from, and the doors it goes through; tests give their own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from lubberline.errors import InputError, nearest_of
from lubberline.flight.motion import Motion
from lubberline.instruments.faults import Fault
from lubberline.simulation.flown import Flown
from lubberline.simulation.misconceptions import Misconception


@dataclass(frozen=True)
class Choice:
    """A flight or an aircraft of the list: its name in an address, its title, a sentence, its file."""

    name: str
    title: str
    about: str
    path: Path


@dataclass(frozen=True)
class House:
    """Lists to choose from and the engine's doors.

    Attributes:
        flights: the flights of the list; the first is flown when none is named.
        aircraft: the aircraft of the list, likewise.
        faults: faults that may be tried, by name.
        ideas: wrong ideas that may be shown beside the truth.
        fly: `lubberline.fly`.
        read_flight: reads a given file from its name, its bytes and a wind as text ('': none).
    """

    flights: tuple[Choice, ...]
    aircraft: tuple[Choice, ...]
    faults: Mapping[str, Fault]
    ideas: tuple[Misconception, ...]
    fly: Callable[..., Flown]
    read_flight: Callable[[str, bytes, str], Motion]


def chosen(where: str, name: str, choices: tuple[Choice, ...]) -> Choice:
    """The choice of that name, the first when no name is given.

    Raises:
        InputError: no such name in the list; nothing outside the list is ever opened.
    """
    if not choices:
        raise InputError(where, "the list is empty", "the demo folder belongs beside the program")
    if not name:
        return choices[0]
    for choice in choices:
        if choice.name == name:
            return choice
    raise InputError(where, f"'{name}' is not in the list", nearest_of(name, [c.name for c in choices]))
