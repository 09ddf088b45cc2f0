"""Flights that the browser gave: kept in memory while the program runs, never written to disk."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

from lubberline.errors import InputError
from lubberline.flight.motion import Motion

PREFIX = "file:"
KEPT = 6
KEPT_BYTES = 200_000_000


@dataclass
class Given:
    """A file as it came, and its motion in the winds that were asked for."""

    name: str
    data: bytes
    title: str
    motions: dict[str, Motion] = field(default_factory=dict)


class Uploads:
    """The last few files given, each under a key made of its name and bytes.

    Args:
        read: reads a flight from its file name, its bytes and a wind as text ('': none).
    """

    def __init__(self, read: Callable[[str, bytes, str], Motion]) -> None:
        self._read = read
        self._given: OrderedDict[str, Given] = OrderedDict()

    def take(self, name: str, data: bytes) -> str:
        """Reads a file and gives back the key it is kept under.

        Raises:
            InputError: the file is not a flight.
        """
        key = PREFIX + hashlib.sha256(name.encode() + b"\0" + data).hexdigest()[:16]
        if key not in self._given:
            motion = self._read(name, data, "")
            self._given[key] = Given(name, data, motion.title, {"": motion})
        self._given.move_to_end(key)
        while len(self._given) > 1 and (len(self._given) > KEPT or self._bytes() > KEPT_BYTES):
            self._given.popitem(last=False)
        return key

    def motion(self, key: str, wind: str) -> Motion:
        """The flight kept under a key, in that wind.

        Raises:
            InputError: it was given to an earlier run of the program, or too many came after it.
        """
        given = self._given.get(key)
        if given is None:
            wrong = "this file is no longer kept here"
            raise InputError("flight", wrong, "open the file again; files are not stored")
        if wind not in given.motions:
            # The calm reading and the last wind are kept, no more: motions are large.
            given.motions = {"": given.motions[""], wind: self._read(given.name, given.data, wind)}
        return given.motions[wind]

    def titles(self) -> list[tuple[str, str]]:
        """Key and title of each flight kept, the newest last."""
        return [(key, given.title) for key, given in self._given.items()]

    def _bytes(self) -> int:
        return sum(len(given.data) for given in self._given.values())
