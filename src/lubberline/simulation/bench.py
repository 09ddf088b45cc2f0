"""The bench: an aircraft and its instruments flown live; its inputs are recorded so that time can go back.

What is done to it is written on a tape with the step at which it was done. A state is kept every ten
seconds of its time; going back takes the last one before and plays the tape from there, to the bit.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lubberline.angles import rose_deg
from lubberline.arrays import Ints
from lubberline.earth.magnetic import field_warnings
from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import size_of
from lubberline.simulation.fitted import Frame, instruments
from lubberline.simulation.flown import LEDGER_COLUMNS
from lubberline.simulation.live.effects import obey
from lubberline.simulation.live.orders import SESSION_ORDERS, Fault, Order, Pace, Pause, checked
from lubberline.simulation.live.scene import Scene, SceneEntry
from lubberline.simulation.live.state import BEAT, BenchState, Stretch, advanced, begin
from lubberline.simulation.live.view import view
from lubberline.units import DEG

EMPTY_BENCH = Scene(SceneEntry(id="bench", title="The bench"))
GREATEST_KEPT = 240
GREATEST_TAPE = 20_000
REMEMBERED_EVENTS = 200
# Of these orders only the last at a step counts.
_REPLACING = frozenset(
    {"bank", "rate", "heading", "pitch", "roll", "climb", "speed", "engine", "finger", "rough"}
)


# Columns of a bench's history; those of other instruments of the registry come after them.
SERIES = (
    "time_s",
    "heading_deg",
    "indicated_deg",
    "error_deg",
    "compass_deg",
    "rotor_rpm",
    "gauge_inhg",
    *LEDGER_COLUMNS[1:],
)
GREATEST_ROWS = 600
ROW_STEPS = round(1.0 / STEP_S)

Row = dict[str, float | None]


class History:
    """The history of a bench: at most `GREATEST_ROWS` rows, one a second at first.

    When full, every second row goes and half as many come.

    Attributes:
        rows: in order of time.
    """

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self._every = ROW_STEPS

    def add(self, after: BenchState, way: Stretch) -> None:
        """Add a stretch that ended in a state."""
        number = np.arange(1, len(way.samples))
        number = number[(way.first_step + number) % self._every == 0]
        if len(number):
            self.rows.extend(_rows(after, way, number))
            if len(self.rows) > GREATEST_ROWS:
                self._every *= 2
                self.rows = [
                    row for row in self.rows if round((row["time_s"] or 0.0) / STEP_S) % self._every == 0
                ]

    def back_to(self, time_s: float) -> None:
        """Forget what came after a time."""
        self.rows = [row for row in self.rows if (row["time_s"] or 0.0) <= time_s]


def _rows(after: BenchState, way: Stretch, number: Ints) -> list[Row]:
    columns = {"heading_deg": rose_deg(way.samples["heading_rad"][number] / DEG)}
    for each in instruments().values():
        columns |= each.series(after, way, number)
    names = [*SERIES, *(name for name in columns if name not in SERIES)]
    table = np.round(np.column_stack([columns[name] for name in names]), 3)
    lines = [[float(x) if np.isfinite(x) else None for x in line] for line in table]
    return [dict(zip(names, line, strict=True)) for line in lines]


@dataclass(frozen=True, slots=True)
class Taped:
    """An order at a step; `scripted` ones belong to the scene."""

    step: int
    order: Order | None
    scripted: bool = False
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that happened, numbered through."""

    number: int
    time_s: float
    words: str


@dataclass(frozen=True, slots=True)
class _Kept:
    state: BenchState
    played: int
    caption: str


class Bench:
    """A live session.

    Attributes:
        scene: from which it started.
        state: now.
        history: what it has shown so far.
        events: what happened, newest last.
        caption: of the scene, now.
        wishes: pace and pause asked for by the scene, for whoever keeps the time.
        failures: scripted orders that could not be done.
        happened: number of the last event.
        tape: what was done, and what the scene will do.
        on_stretch: called with every stretch flown.
    """

    def __init__(
        self,
        scene: Scene = EMPTY_BENCH,
        on_stretch: Callable[[Stretch], None] | None = None,
        happened: int = 0,
    ) -> None:
        self.scene = scene
        self.on_stretch = on_stretch
        self.state = begin(scene.entry.start, scene.aircraft)
        self.history = History()
        self.events: deque[Happened] = deque(maxlen=REMEMBERED_EVENTS)
        self.caption = ""
        self.wishes: list[Pace | Pause] = []
        self.failures: list[InputError] = []
        # Events are numbered on from those of the bench before.
        self.happened = happened
        self.tape = _tape_of(scene)
        self._played = 0
        self._has_forgotten = False
        self._kept = [_Kept(self.state, 0, "")]
        for warning in field_warnings(self.state.decimal_year):
            self._note(warning)
        self._play_due(scripted=True)

    @property
    def time_s(self) -> float:
        """Simulated time since the start."""
        return self.state.time_s

    @property
    def earliest_s(self) -> float:
        """How far back one can go."""
        return self._kept[0].state.time_s

    def give(self, order: Order) -> str:
        """Carry out an order now; later recorded orders are deleted, except those of the scene.

        Returns:
            What was done, in words.

        Raises:
            InputError: when it cannot be done; nothing changes then.
        """
        self._play_due(scripted=False)
        self.state, words = obey(self.state, order)
        coming = [taped for taped in self.tape[self._played :] if taped.scripted]
        taped = Taped(self.state.step, order)
        if self._played and _replaces(taped, self.tape[self._played - 1]):
            self._played -= 1
        self.tape = [*self.tape[: self._played], taped, *coming]
        self._played += 1
        if order.__struct_config__.tag not in ("finger", "knob"):
            self._note(words)
        self._forget_beginning()
        return words

    def advance(self, steps: int, heed_wishes: bool = False) -> None:
        """Fly on by so many steps and repeat the recorded orders; stop early if the scene asks for it."""
        self._run(self.state.step + steps, quiet=False, heed_wishes=heed_wishes)

    def rewind(self, to_s: float) -> None:
        """Go back (or on) to a time; later recorded orders are kept until there is a new order.

        Raises:
            InputError: for a time before the earliest that is kept, or not yet reached.
        """
        step = round(to_s / STEP_S)
        if step > self.state.step:
            raise InputError(
                "rewind, to_s",
                f"{to_s:g} s has not been reached yet",
                f"at most {self.time_s:g}",
            )
        if step < self._kept[0].state.step:
            raise InputError(
                "rewind, to_s",
                f"{to_s:g} s is no longer saved",
                f"from {self.earliest_s:g} s on",
            )
        self._kept = [kept for kept in self._kept if kept.state.step <= step]
        kept = self._kept[-1]
        self.state, self._played, self.caption = kept.state, kept.played, kept.caption
        self.history.back_to(self.state.time_s)
        self._play_due(scripted=True, quiet=True)
        self._run(step, quiet=True)
        self._note(f"back to {self.time_s:g} s")

    def played(self) -> tuple[Taped, ...]:
        """What was done up to now, by hand or by the scene, in order.

        Raises:
            InputError: the first of it is no longer saved.
        """
        if self._has_forgotten:
            raise InputError("bench", "the beginning of this flight is no longer saved", "start again")
        return tuple(self.tape[: self._played])

    def frame(self) -> Frame:
        """The present frame; see `docs/developers/live.md`."""
        return {**view(self.state), "caption": self.caption or None}

    def _run(self, to_step: int, quiet: bool, heed_wishes: bool = False) -> None:
        while self.state.step < to_step and not (heed_wishes and self.wishes):
            self._play_due(False, quiet)
            here = self.state.step
            until = min(to_step, here - here % BEAT + BEAT)
            if self._played < len(self.tape):
                until = min(until, self.tape[self._played].step)
            before = self.state
            self.state, way = advanced(before, until - here)
            self.history.add(self.state, way)
            if self.on_stretch is not None:
                self.on_stretch(way)
            if not quiet:
                for each in instruments().values():
                    for words in each.happened(before, self.state, way):
                        self._note(words)
            if self.state.step % BEAT == 0:
                self._keep()
            self._play_due(True, quiet)

    def _play_due(self, scripted: bool, quiet: bool = False) -> None:
        """The scene's own orders of this step, or everything on the tape at it."""
        while self._played < len(self.tape) and self.tape[self._played].step <= self.state.step:
            if scripted and not self.tape[self._played].scripted:
                return
            self._play(quiet)

    def _play(self, quiet: bool) -> None:
        taped = self.tape[self._played]
        self._played += 1
        words = ""
        if isinstance(taped.order, Pace | Pause):
            if not quiet:
                self.wishes.append(taped.order)
        elif taped.order is not None and not isinstance(taped.order, SESSION_ORDERS):
            try:
                self.state, words = obey(self.state, taped.order)
            except InputError as error:
                words = f"not done: {error}"
                self.failures.append(error)
        # The scene's own words are better than those of the order.
        if taped.caption:
            self.caption = words = taped.caption
        if words and not quiet:
            self._note(words)

    def _keep(self) -> None:
        self._kept.append(_Kept(self.state, self._played, self.caption))
        if len(self._kept) > GREATEST_KEPT:
            old, new = self._kept[: GREATEST_KEPT // 2], self._kept[GREATEST_KEPT // 2 :]
            self._kept = old[::2] + new

    def _forget_beginning(self) -> None:
        """Drop half of the recorded orders if there are too many, and the states before them."""
        dropped = self._played // 2 if len(self.tape) > GREATEST_TAPE else 0
        kept = [
            _Kept(entry.state, entry.played - dropped, entry.caption)
            for entry in self._kept
            if entry.played >= dropped
        ]
        if dropped and kept:
            self._has_forgotten = True
            self.tape, self._played, self._kept = self.tape[dropped:], self._played - dropped, kept

    def _note(self, words: str) -> None:
        self.happened += 1
        self.events.append(Happened(self.happened, round(self.time_s, 1), words))


def _tape_of(scene: Scene) -> list[Taped]:
    tape = [
        Taped(
            round(event.at_s / STEP_S),
            event.order,
            True,
            event.caption,
        )
        for event in scene.events
    ]
    tape += [
        Taped(
            round(entry.at_min * 60.0 / STEP_S),
            checked(
                Fault(
                    entry.name,
                    size_of(entry.name, entry.given),
                    number == 1,
                ),
                "aircraft, fault",
            ),
            True,
        )
        for number, aircraft in enumerate(scene.aircraft)
        for entry in aircraft.fault
        if entry.at_min > 0.0
    ]
    return sorted(tape, key=lambda taped: taped.step)


def _replaces(taped: Taped, before: Taped) -> bool:
    same = not before.scripted and before.step == taped.step and type(before.order) is type(taped.order)
    return same and taped.order is not None and taped.order.__struct_config__.tag in _REPLACING
