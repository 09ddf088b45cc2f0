"""Flies requests outside the event loop, and caches the last few answers and files.

Files from the browser are kept in memory while the program runs, never written to disk.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import anyio
import anyio.to_thread
import msgspec

from lubberline.errors import InputError, required
from lubberline.flight.motion import Motion
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.web.catalogue import Catalogue, Choice, chosen
from lubberline.web.flights.answer import answer_of
from lubberline.web.flights.query import FlightQuery

PREFIX = "file:"
KEPT = 6
KEPT_BYTES = 200_000_000
REMEMBERED = 12
# Flights at the same time: more would only make each slower.
AT_ONCE = 2

FlightAnswer = dict[str, Any]


@dataclass
class GivenFlight:
    """A file as received, and its motion in the winds asked for."""

    name: str
    data: bytes
    title: str
    motions: dict[str, Motion] = field(default_factory=dict)


class Uploads:
    """The last few files, each under a key from its name and bytes.

    Args:
        read: reads a flight from its file name, its bytes and a wind as text ('': none).
    """

    def __init__(self, read: Callable[[str, bytes, str], Motion]) -> None:
        self._read = read
        self._given: OrderedDict[str, GivenFlight] = OrderedDict()

    def take(self, name: str, data: bytes) -> str:
        """Reads a file and returns its key.

        Raises:
            InputError: the file is not a flight.
        """
        key = PREFIX + hashlib.sha256(name.encode() + b"\0" + data).hexdigest()[:16]
        if key not in self._given:
            motion = self._read(name, data, "")
            self._given[key] = GivenFlight(name, data, motion.title, {"": motion})
        self._given.move_to_end(key)
        while len(self._given) > 1 and (len(self._given) > KEPT or self._bytes() > KEPT_BYTES):
            self._given.popitem(last=False)
        return key

    def motion(self, key: str, wind: str) -> Motion:
        """The flight with a key, in a wind.

        Raises:
            InputError: it was sent to an earlier run of the program, or too many came after it.
        """
        given = required(
            self._given.get(key),
            InputError(
                "flight", "this file is no longer in memory", "open the file again; files are not saved"
            ),
        )
        if wind not in given.motions:
            # Only the reading in calm air and the last wind are kept, as motions are large.
            given.motions = {"": given.motions[""], wind: self._read(given.name, given.data, wind)}
        return given.motions[wind]

    def _bytes(self) -> int:
        return sum(len(given.data) for given in self._given.values())

    def titles(self) -> list[tuple[str, str]]:
        """Key and title of each flight, the newest last."""
        return [(key, given.title) for key, given in self._given.items()]


class Flying:
    """The engine behind the page: one answer for one state.

    Args:
        catalogue: the lists and the ways into the engine.
        uploads: the flight files from the browser.
    """

    def __init__(self, catalogue: Catalogue, uploads: Uploads) -> None:
        self._catalogue = catalogue
        self._uploads = uploads
        self._answers: OrderedDict[tuple[object, ...], FlightAnswer] = OrderedDict()
        self._limiter: anyio.CapacityLimiter | None = None

    async def answer(self, asked: FlightQuery, catalogue: Catalogue) -> FlightAnswer:
        """The data of the page for that state, from the lists of a school.

        Raises:
            InputError: a name not in the lists, an invalid flight or fault.
        """
        asked = self.named(asked, catalogue)
        flight = (
            None if asked.flight.startswith(PREFIX) else chosen("flight", asked.flight, catalogue.flights)
        )
        aircraft = chosen("aircraft", asked.aircraft, catalogue.aircraft)
        key = (asked, _stamp(flight), _stamp(aircraft))
        if key not in self._answers:
            self._answers[key] = await self._in_thread(asked, flight, aircraft)
        self._answers.move_to_end(key)
        while len(self._answers) > REMEMBERED:
            self._answers.popitem(last=False)
        return self._answers[key]

    async def take(self, name: str, data: bytes) -> str:
        """Reads a file in a worker thread and returns its key."""
        return await anyio.to_thread.run_sync(self._uploads.take, name, data, limiter=self._limit())

    def named(self, asked: FlightQuery, catalogue: Catalogue) -> FlightQuery:
        """The same state, with the first of each list as default."""
        fields: dict[str, Any] = {"aircraft": chosen("aircraft", asked.aircraft, catalogue.aircraft).name}
        if not asked.flight.startswith(PREFIX):
            fields["flight"] = chosen("flight", asked.flight, catalogue.flights).name
        return msgspec.structs.replace(asked, **fields)

    def _motion(self, flight: Choice | None, asked: FlightQuery) -> Path | Motion:
        """The flight as the engine takes it: a file to read, or a motion in its wind."""
        if flight is None:
            return self._uploads.motion(asked.flight, asked.wind)
        return flight.path or self._catalogue.read_flight(
            f"{flight.name}.toml", flight.text.encode(), asked.wind
        )

    def _limit(self) -> anyio.CapacityLimiter:
        if self._limiter is None:
            self._limiter = anyio.CapacityLimiter(AT_ONCE)
        return self._limiter

    async def _in_thread(self, asked: FlightQuery, flight: Choice | None, aircraft: Choice) -> FlightAnswer:
        def fly() -> FlightAnswer:
            flown = self._catalogue.fly(
                self._motion(flight, asked),
                aircraft.path or aircraft_from_text(aircraft.title, aircraft.text),
                seed=asked.seed,
                believe=asked.believe,
                set_every_min=asked.set_every_min,
                set_from=asked.set_from or None,
                true_reference=asked.true_reference,
                # The file was already read in its wind.
                wind=asked.wind or None if flight and flight.path else None,
                faults=asked.faults,
            )
            return answer_of(asked, flown, self._catalogue.ideas)

        # A daemon thread, so that Ctrl-C does not wait for a flight.
        return await anyio.to_thread.run_sync(fly, limiter=self._limit(), abandon_on_cancel=True)


def _stamp(choice: Choice | None) -> int | str:
    """A key that changes when a listed file is edited while the program runs."""
    if choice is None:
        return 0
    return choice.path.stat().st_mtime_ns if choice.path else choice.text
