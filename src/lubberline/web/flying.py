"""Flies what was asked, away from the event loop, and remembers the last few answers."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path
from typing import Any

import anyio
import anyio.to_thread
import msgspec

from lubberline.web.asked import Asked
from lubberline.web.house import House, chosen
from lubberline.web.reply import reply
from lubberline.web.uploads import PREFIX, Uploads

REMEMBERED = 12
# Flights at once: more would only make each slower.
AT_ONCE = 2

Reply = dict[str, Any]


class Flying:
    """The engine behind the page: one answer for one state.

    Args:
        house: the lists and the engine's doors.
        uploads: the flights that the browser gave.
    """

    def __init__(self, house: House, uploads: Uploads) -> None:
        self._house = house
        self._uploads = uploads
        self._replies: OrderedDict[tuple[object, ...], Reply] = OrderedDict()
        self._limiter: anyio.CapacityLimiter | None = None

    async def reply(self, asked: Asked) -> Reply:
        """What the page shows for that state.

        Raises:
            InputError: a name not in the lists, a flight or a fault that cannot be.
        """
        asked = self.named(asked)
        flight = self._flight(asked)
        aircraft = chosen("aircraft", asked.aircraft, self._house.aircraft).path
        key = (asked, _stamp(flight), _stamp(aircraft))
        if key not in self._replies:
            self._replies[key] = await self._in_thread(asked, flight, aircraft)
        self._replies.move_to_end(key)
        while len(self._replies) > REMEMBERED:
            self._replies.popitem(last=False)
        return self._replies[key]

    async def take(self, name: str, data: bytes) -> str:
        """Reads a given file in a worker thread and gives back the name it can be asked for by."""
        return await anyio.to_thread.run_sync(self._uploads.take, name, data, limiter=self._limit())

    def named(self, asked: Asked) -> Asked:
        """The same state with the first of each list where no name is given."""
        fields: dict[str, Any] = {"aircraft": chosen("aircraft", asked.aircraft, self._house.aircraft).name}
        if not asked.flight.startswith(PREFIX):
            fields["flight"] = chosen("flight", asked.flight, self._house.flights).name
        return msgspec.structs.replace(asked, **fields)

    def _flight(self, asked: Asked) -> Path | None:
        if asked.flight.startswith(PREFIX):
            return None
        return chosen("flight", asked.flight, self._house.flights).path

    def _limit(self) -> anyio.CapacityLimiter:
        if self._limiter is None:
            self._limiter = anyio.CapacityLimiter(AT_ONCE)
        return self._limiter

    async def _in_thread(self, asked: Asked, flight: Path | None, aircraft: Path) -> Reply:
        def fly() -> Reply:
            flown = self._house.fly(
                flight or self._uploads.motion(asked.flight, asked.wind),
                aircraft,
                seed=asked.seed,
                believe=asked.believe,
                set_every_min=asked.set_every_min,
                set_from=asked.set_from or None,
                true_reference=asked.true_reference,
                # A given file was read in its wind already.
                wind=asked.wind or None if flight else None,
                faults=asked.faults,
            )
            return reply(asked, flown, self._house.ideas)

        # Left behind when the program ends, so that Ctrl-C doesn't wait for a flight.
        return await anyio.to_thread.run_sync(fly, limiter=self._limit(), abandon_on_cancel=True)


def _stamp(path: Path | None) -> int:
    """Changes when a listed file is edited while the program runs."""
    return path.stat().st_mtime_ns if path else 0
