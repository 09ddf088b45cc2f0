"""The benches that are open, by name."""

from __future__ import annotations

import re
import time

from lubberline.errors import InputError
from lubberline.web.live.room import Room

DEFAULT = "main"
GREATEST_ROOMS = 8
GREATEST_VIEWERS = 400
# A bench that nobody has seen for so long is given up.
KEPT_EMPTY_S = 1800.0
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")


class Rooms:
    """All benches of the server."""

    def __init__(self) -> None:
        self._rooms: dict[str, Room] = {}

    def enter(self, name: str) -> Room:
        """The bench with this name, opened when there is none.

        Raises:
            InputError: a name that is none, or too many benches or viewers.
        """
        name = name or DEFAULT
        if not _NAME.fullmatch(name):
            raise InputError(
                "bench", f"'{name[:40]}' is no name", "small letters, digits, - and _, 40 at most"
            )
        room = self._rooms.get(name)
        if room is None:
            self._sweep()
            if len(self._rooms) >= GREATEST_ROOMS:
                open_ = ", ".join(sorted(self._rooms))
                raise InputError("bench", f"{GREATEST_ROOMS} benches are open", f"one of these: {open_}")
            room = self._rooms[name] = Room(name)
        if len(room.viewers) >= GREATEST_VIEWERS:
            raise InputError("bench", f"{GREATEST_VIEWERS} viewers are there", "wait until one has left")
        return room

    def existing(self, name: str) -> Room:
        """The bench with this name.

        Raises:
            InputError: when it is not open.
        """
        room = self._rooms.get(name or DEFAULT)
        if room is None or room.playing is None:
            raise InputError("bench", f"'{(name or DEFAULT)[:40]}' is not open", "open it at /bench first")
        return room

    def _sweep(self) -> None:
        now_s = time.monotonic()
        crowded = len(self._rooms) >= GREATEST_ROOMS
        empty = sorted((r for r in self._rooms.values() if not r.viewers), key=lambda r: r.empty_since_s)
        for room in empty:
            if crowded or now_s - room.empty_since_s > KEPT_EMPTY_S:
                del self._rooms[room.name]
                crowded = False
