"""A bench in real time: the steps for the time that has passed, the frame to show, and what is kept of it."""

import math
from collections.abc import Callable, Iterable
from typing import Any

import msgspec

from lubberline.errors import FieldError, InputError
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.gyro import AVERAGED
from lubberline.simulation.bench import EMPTY_BENCH, Bench, Taped
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live import orders
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.scene import GREATEST_EVENTS, Camera, Scene, scene_of
from lubberline.simulation.live.state import Start
from lubberline.simulation.live.view import between
from lubberline.simulation.scenes import Library, begun, library
from lubberline.textfile import as_toml

# Up to this many steps per frame are flown directly; more are flown in a thread.
FEW_STEPS = 10
# The engine's work per frame stays below this; a pace that needs more is not reached.
WORK_S = 0.06
# Up to this many steps a frame, frames are drawn between steps.
DRAWN_BETWEEN = 1.0
FRAME_S = 1.0 / 30.0
# The eye takes this long to a view of a path, as in the page's `path.ts`.
MOVE_S = 3.0
MOST_VIEWS = 200

Fields = dict[str, Any]
# How a kept scene begins: what is left to do by hand.
HEAD = """\
# Kept from the bench. Write what the class is to see:
#   aim, watch, ask   what it should understand, what to watch for, and the question before it starts
#   caption           beside an event, or with at_s alone: what is shown from its time on
#   [[camera]]        the view from at_s on
#   [[claim]]         at_s, name, low, high: a number that a text states, and where it must lie
"""


class Playing:
    """A bench with its pace.

    Args:
        bench: to begin with.
        scenes: those that can be opened.

    Attributes:
        scenes: those that can be opened.
        bench: the bench.
        pace: bench seconds per second.
        paused: time stands still.
        scene_id: of its scene; none for a free bench.
        step: of the tour, from 1; none for a scene that is no tour.
        until_step: at which a run stops; none without one.
    """

    def __init__(self, bench: Bench | None = None, scenes: Callable[[], Library] = library) -> None:
        self.scenes = scenes
        self.pace = 1.0
        self.paused = False
        self.scene_id: str | None = None
        self.step: int | None = None
        self._open(bench or Bench(), None)

    def _open(self, bench: Bench, scene_id: str | None) -> None:
        self.bench = bench
        self.scene_id = scene_id
        self.step = None
        self.until_step: int | None = None
        self.pace = 1.0
        self._paces: list[tuple[int, float]] = []
        self._owed = 1.0
        self._step_s = 1e-5
        self._turns = 0.0
        self._now: Frame | None = None
        self._before: Frame | None = None
        self._heed()

    def obey(self, order: orders.Order) -> str:
        """Carry out an order of the page in control.

        Returns:
            A notice for everybody; empty if the frame's events say it.

        Raises:
            InputError: when it cannot be done.
        """
        # No frame is interpolated across an order.
        self._now = self._before = None
        if isinstance(order, orders.Pace):
            self._go_at(order.factor)
            self.until_step = None
        elif isinstance(order, orders.Run):
            self._go_at(order.factor)
            self.until_step = self.bench.state.step + round(order.seconds / STEP_S)
            self._pause(False)
        elif isinstance(order, orders.Pause):
            self._pause(order.on)
        elif isinstance(order, orders.Step):
            self.paused, self.until_step = True, None
            self.bench.advance(round(order.seconds / STEP_S))
            self._heed()
        elif isinstance(order, orders.Rewind):
            self.bench.rewind(order.to_s)
            self._paces = [one for one in self._paces if one[0] <= self.bench.state.step]
            self.paused, self.until_step = True, None
        elif isinstance(order, orders.PlayScene):
            scenes = self.scenes()
            id, opens = order.id, order.step
            if "/" in id and id in scenes:
                id, _, number = id.partition("/")
                opens = int(number)
            self._open(self._fresh(scenes.opened(id, opens)), id)
            self.step = opens if scenes.with_drafts()[id].steps else None
            self.paused = order.paused
            # A step of a tour has its title on the page, and comes and goes quickly.
            return "" if self.step else f"scene: {self.bench.scene.entry.title}"
        elif isinstance(order, orders.OpenState):
            self._open(self._fresh(scene_at(order.text)), None)
            return "the bench starts from a saved state"
        elif isinstance(order, orders.Reset):
            step = self.step
            self._open(self._fresh(self.bench.scene), self.scene_id)
            self.step = step
            return "the bench was reset"
        elif isinstance(order, orders.Take):
            raise InputError("take", "it cannot be given here", "send it over the bench's socket")
        else:
            self.bench.give(order)
        return ""

    def _go_at(self, pace: float) -> None:
        if pace != self.pace:
            self._paces.append((self.bench.state.step, pace))
        self.pace = pace

    def kept(
        self, id: str, title: str, camera: Iterable[Fields] = (), captions: Iterable[Fields] = ()
    ) -> str:
        """What has been flown, as the text of a scene file; see `kept_toml`."""
        return kept_toml(self.bench, id, title, self._paces, camera, captions)

    def _pause(self, on: bool) -> None:
        if self.paused and not on:
            self._owed = 1.0
        self.paused = on

    def _fresh(self, scene: Scene) -> Bench:
        return begun(scene, happened=self.bench.happened)

    def _heed(self) -> None:
        for wish in self.bench.wishes:
            if isinstance(wish, orders.Pace):
                self.pace = wish.factor
            else:
                self.paused = wish.on
        self.bench.wishes.clear()

    def steps_due(self, passed_s: float) -> int:
        """Steps to fly for the time that has passed; counts them as flown."""
        if self.paused:
            return 0
        self._owed += self.pace * passed_s / STEP_S
        due = math.floor(self._owed)
        self._owed -= due
        left = due if self.until_step is None else self.until_step - self.bench.state.step
        return min(due, left, max(math.floor(WORK_S / self._step_s), 1))

    def is_light(self, steps: int) -> bool:
        """Whether that many steps are fast enough to fly directly."""
        return (
            steps <= FEW_STEPS
            and self.bench.state.carried[0].truth.held["heading_indicator"].state.regime == AVERAGED
        )

    def fly(self, steps: int, clock: Any) -> None:
        """Fly steps and measure the time of one; `clock` returns seconds."""
        before = self._frame_now() if steps == 1 and self._is_slow else None
        started = clock()
        turns = self.bench.state.carried[0].shared["suction"].turns
        self.bench.advance(steps, heed_wishes=True)
        self._step_s += 0.2 * ((clock() - started) / steps - self._step_s)
        self._turns += (self.bench.state.carried[0].shared["suction"].turns - turns) / max(self.pace, 1.0)
        self._heed()
        if self.until_step is not None and self.bench.state.step >= self.until_step:
            self._go_at(1.0)
            self.paused, self.until_step = True, None
        self._before, self._now = before, None

    def frame(self) -> Frame:
        """The frame to show: between the last two steps at a slow pace, else the last."""
        now = self._frame_now()
        if self._before is None or self.paused or not self._is_slow:
            return now
        shown: Frame = between(self._before, now, self._owed)
        return shown

    @property
    def _is_slow(self) -> bool:
        return self.pace * FRAME_S / STEP_S < DRAWN_BETWEEN

    def _frame_now(self) -> Frame:
        if self._now is None:
            self._now = self.bench.frame()
            self._now["gyro"]["rotor_turns"] = round(self._turns % 1.0, 4)
        return self._now


def ready_playing(
    scenes: Callable[[], Library] = library, begins: Callable[[], Scene] = lambda: EMPTY_BENCH
) -> Playing:
    """A bench at its start, once everything it needs is compiled."""
    trial = Bench()
    trial.advance(1)
    trial.frame()
    return Playing(Bench(begins()), scenes)


def kept_toml(
    bench: Bench,
    id: str,
    title: str,
    paces: Iterable[tuple[int, float]] = (),
    camera: Iterable[Fields] = (),
    captions: Iterable[Fields] = (),
) -> str:
    """What a bench has flown so far, as the text of a scene file that flies the same again.

    Args:
        bench: as it stands.
        id: of the scene.
        title: of the scene.
        paces: step and factor of each change of pace by hand.
        camera: views with their times, from the first move of the camera on; before it, those of the
            bench's own scene, or the first.
        captions: texts with their times.

    Raises:
        InputError: too many orders, or so long a flight that the first of them are forgotten; a wrong title,
            view or time.
    """
    entry = bench.scene.entry
    tape = bench.played()
    events = [_event(taped) for taped in tape]
    events += [_timed(step, {"do": "pace", "factor": factor}) for step, factor in paces]
    events += captions
    now = bench.state.step
    if late := [event for event in events if event["at_s"] > round(now * STEP_S, 3)]:
        right = f"at most {bench.time_s:g} s, where the flight ends"
        raise InputError("caption", f"{late[0]['at_s']:g} s is after the end", right)
    if now and not any(isinstance(taped.order, orders.Pause) and taped.step == now for taped in tape):
        events.append(_timed(bench.state.step, {"do": "pause", "on": True}))
    if len(events) > GREATEST_EVENTS:
        wrong = f"{len(events)} orders were given"
        raise InputError("scene, event", wrong, f"keep a flight of at most {GREATEST_EVENTS}; start again")
    moves = _thinned(view for view in camera if view.get("at_s", 0.0) <= bench.time_s)
    first_s = moves[0].get("at_s", 0.0) if moves else math.inf
    views = [
        _unusual(view, Camera()) for view in entry.camera if view.at_s < min(first_s, bench.time_s + STEP_S)
    ]
    if moves and not views:
        moves[0] = {**moves[0], "at_s": 0.0}
    fields: Fields = {
        "id": id,
        "title": title,
        "aim": entry.aim,
        "watch": entry.watch,
        "ask": entry.ask,
        **({"dial": entry.dial} if entry.dial != "heading" else {}),
        **({"from_s": entry.from_s} if entry.from_s else {}),
        **({"length_s": round(bench.time_s, 3)} if now else {}),
        "start": _unusual(entry.start, Start()),
        "aircraft": _without_timed_faults(entry.aircraft),
        "second": entry.second and {"aircraft": _without_timed_faults(entry.second.aircraft) or {}},
        "event": sorted(events, key=lambda event: event["at_s"]),
        "camera": views + moves,
    }
    fields = {name: value for name, value in fields.items() if value is not None}
    _check(fields)
    return HEAD + as_toml(fields)


def _thinned(views: Iterable[Fields]) -> list[Fields]:
    """What is needed of a camera's views: the first, of a move its end, of a long one places between."""
    apart_s, kept = MOVE_S / 2.0, list(views)
    while True:
        noted, kept, begun_s = kept, [], -math.inf
        times_s = [view.get("at_s", 0.0) for view in noted]
        for view, before_s, at_s, after_s in zip(
            noted, [-math.inf, *times_s], times_s, [*times_s[1:], math.inf], strict=False
        ):
            if at_s - before_s >= apart_s:
                begun_s = at_s
            moves_on = after_s - at_s < apart_s and at_s - begun_s < MOVE_S
            if not kept or not (moves_on or {**view, "at_s": 0.0} == {**kept[-1], "at_s": 0.0}):
                kept.append(view)
                begun_s = at_s
        if len(kept) <= MOST_VIEWS:
            return kept
        kept, apart_s = kept[::2], apart_s * 2.0


def _check(fields: Fields) -> None:
    """Whether a scene can be read from the fields.

    Raises:
        InputError: the title or the view is not right.
    """
    try:
        scene_of("scene", fields)
    except FieldError as error:
        raise InputError(error.where, error.wrong, error.right) from None


def _timed(step: int, order: Fields, caption: str = "") -> Fields:
    given = {name: orders.NOTHING if value is None else value for name, value in order.items()}
    at_s = round(step * STEP_S, 3)
    return {"at_s": at_s, "do": given, "caption": caption} if order else {"at_s": at_s, "caption": caption}


def _event(taped: Taped) -> Fields:
    if taped.order is None:
        return _timed(taped.step, {}, taped.caption)
    order = msgspec.to_builtins(taped.order)
    usual = {entry.encode_name: entry.default for entry in msgspec.structs.fields(taped.order)}
    given = {name: value for name, value in order.items() if name == "do" or value != usual[name]}
    return _timed(taped.step, given, taped.caption)


def _unusual(given: msgspec.Struct, usual: msgspec.Struct) -> Fields:
    """The fields of a record that are not as usual."""
    plain, other = msgspec.structs.asdict(given), msgspec.structs.asdict(usual)
    return {name: value for name, value in plain.items() if value != other[name]}


def _without_timed_faults(aircraft: Fields | None) -> Fields | None:
    """An aircraft's fields without the faults that begin in flight: they are on the tape."""
    if aircraft is None:
        return None
    faults = [fault for fault in aircraft.get("fault", []) if not fault.get("at_min")]
    rest = {name: value for name, value in aircraft.items() if name != "fault"}
    return {**rest, **({"fault": faults} if faults else {})} or None
