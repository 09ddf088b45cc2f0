"""The open benches and their viewers: clock, waiting orders, and outgoing frames."""

import asyncio
import contextlib
import logging
import re
import time
from collections import deque
from collections.abc import Callable
from typing import Any

import msgspec

from lubberline import __version__
from lubberline.compiled import HOW_LONG
from lubberline.errors import InputError
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.bench import EMPTY_BENCH, Happened
from lubberline.simulation.fitted import instruments
from lubberline.simulation.live import orders
from lubberline.simulation.live.scene import Scene, Step
from lubberline.simulation.misconceptions import FLOWN
from lubberline.simulation.misconceptions.idea import spoken, spoken_of_parts
from lubberline.simulation.scenes import DRAFT, Library, library
from lubberline.web.bench.real_time import FRAME_S, Playing, ready_playing
from lubberline.web.bench.viewer import Picture, Viewer

LOG = logging.getLogger(__name__)
PAUSED_FRAME_S = 0.2
GREATEST_WAITING = 200
SAID_EVERY_S = 2.0
# A longer gap between frames means the machine was asleep; the bench does not catch up.
ASLEEP_S = 2.0
GREATEST_GAP_S = 0.25

# Orders that may take too long to carry out directly.
LONG_ORDERS = (orders.Step, orders.Rewind, orders.PlayScene, orders.Reset, orders.OpenState)
# Events sent to a new viewer.
RECENT_EVENTS = 20

DEFAULT = "main"
GREATEST_ROOMS = 8
GREATEST_VIEWERS = 400
# A bench without viewers for this long is closed.
KEPT_EMPTY_S = 1800.0
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")

Message = dict[str, Any]
# The scenes of the lesson whose projector has a bench of this name; None for any other bench.
OfLesson = Callable[[str], Library | None]


def refusal_of(error: InputError) -> Message:
    """A refusal as a message."""
    return {"kind": "refused", "where": error.where, "wrong": error.wrong, "right": error.right}


def _said(text: str, _: str = "") -> str:
    return text


def _scene_words(id: str, scene: Scene, said: Callable[..., str] = _said) -> Message:
    """What is said of a scene; the program's own in the school's words."""
    entry = scene.entry
    return {
        "id": id,
        "title": said(entry.title),
        "aim": said(entry.aim),
        "ask": said(entry.ask),
        "watch": said(entry.watch),
        "cautions": " ".join(scene.cautions),
        "length_s": scene.length_s,
        "dial": entry.dial,
        "camera": msgspec.to_builtins(entry.camera),
        "steps": [_step_words(step, said) for step in scene.steps],
    }


def _step_words(step: Step, said: Callable[..., str]) -> Message:
    return {
        "title": said(step.entry.title),
        "say": [{"text": said(piece.text, piece.part), "part": piece.part} for piece in step.say],
        "try": [{"text": said(piece.text, piece.part), "part": piece.part} for piece in step.attempt],
        "part": step.entry.part or None,
        "dial": step.entry.dial,
        "camera": msgspec.to_builtins((step.entry.camera,)),
    }


class Room:
    """One bench.

    Args:
        name: in the address.
        scenes: those that can be opened on it.
        begins: where it begins.
        of_lesson: the scenes of the lesson that plays on it, as they were when it was opened.

    Attributes:
        name: in the address.
        playing: the bench in real time; None until the first viewer comes.
        viewers: the pages watching it.
        empty_since_s: when the last viewer left.
    """

    def __init__(
        self,
        name: str,
        scenes: Callable[[], Library] = library,
        begins: Callable[[], Scene] = lambda: EMPTY_BENCH,
        of_lesson: OfLesson = lambda _: None,
    ) -> None:
        self._begins = begins
        self._of_lesson = of_lesson
        self.name = name
        self._scenes = scenes
        self.playing: Playing | None = None
        self.viewers: list[Viewer] = []
        self.empty_since_s = time.monotonic()
        self._waiting: deque[tuple[Viewer, orders.Order]] = deque()
        self._wake = asyncio.Event()
        self._task: asyncio.Task[None] | None = None
        self._number = 0

    async def join(self, viewer: Viewer) -> None:
        """Adds a viewer; with nobody in control, the new viewer takes control."""
        self.viewers.append(viewer)
        viewer.drives = not any(other.drives for other in self.viewers)
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._run())
        elif self.playing is not None:
            viewer.say(self._hello(viewer, self.playing))

    def leave(self, viewer: Viewer) -> None:
        """Removes a viewer; without viewers the bench stands still."""
        if viewer in self.viewers:
            self.viewers.remove(viewer)
        if viewer.drives:
            viewer.drives = False
            self._tell("Nobody controls the bench now; press Take over.")
        if not self.viewers:
            self.empty_since_s = time.monotonic()

    def take(self, viewer: Viewer) -> None:
        """Gives a viewer control."""
        for other in self.viewers:
            if other.drives and other is not viewer:
                other.say({"kind": "notice", "words": "Somebody else controls the bench now."})
            other.drives = other is viewer
        self._wake.set()

    def ask(self, viewer: Viewer, order: orders.Order) -> None:
        """Queues an order for the next frame.

        Raises:
            InputError: from a viewer not in control, or with too many waiting.
        """
        if isinstance(order, orders.Take):
            self.take(viewer)
            return
        if not viewer.drives:
            raise InputError("bench", "you are watching", "press Take over first (the order 'take')")
        if len(self._waiting) >= GREATEST_WAITING:
            raise InputError("bench", f"{GREATEST_WAITING} orders are waiting", "wait a moment")
        self._waiting.append((viewer, order))
        self._wake.set()

    def close(self) -> None:
        """Stop the clock for good."""
        if self._task is not None:
            self._task.cancel()

    def _tell(self, words: str) -> None:
        for viewer in self.viewers:
            viewer.say({"kind": "notice", "words": words})

    def _hello(self, viewer: Viewer, playing: Playing) -> Message:
        scenes = self._scenes()
        own, home = scenes.own, scenes.home
        return {
            "kind": "hello",
            "role": "driver" if viewer.drives else "viewer",
            "bench": self.name,
            "version": __version__,
            "ideas": [
                {
                    **{name: getattr(idea, name) for name in ("id", "name", "statement", "source")},
                    "mend": spoken(idea.mend),
                }
                for idea in FLOWN
            ],
            "faults": [
                {
                    "name": name,
                    "description": home.said(fault.description) if home else fault.description,
                    "greatest_size": fault.greatest_size,
                    "default_size": fault.default_size,
                    "unit": fault.unit,
                }
                for name, fault in FAULTS.items()
            ],
            "dials": [dial for each in instruments().values() for dial in each.instrument.dials],
            "scenes": [
                _scene_words(id, scene, _said if id in own or id.startswith(DRAFT) else spoken_of_parts)
                for id, scene in scenes.with_drafts().items()
            ],
            "history": playing.bench.history.rows,
        }

    async def _run(self) -> None:
        """The clock while somebody watches; after an internal error, says so and restarts the bench."""
        try:
            if self.playing is None:
                self.playing = await self._made_ready()
            for viewer in self.viewers:
                viewer.say(self._hello(viewer, self.playing))
            await self._keep_time(self.playing)
        except Exception:
            LOG.exception("the bench '%s' broke", self.name)
            self.playing = None
            self._waiting.clear()
            self._tell("Internal error; details are in the terminal. The bench restarts.")

    async def _made_ready(self) -> Playing:
        """A bench at its start; the first run compiles the engine and says so meanwhile."""
        making = asyncio.create_task(asyncio.to_thread(self._ready))
        while True:
            done, _ = await asyncio.wait({making}, timeout=SAID_EVERY_S)
            if done:
                return making.result()
            self._tell(f"Preparing the engine. The first time, it is compiled ({HOW_LONG}).")

    def _ready(self) -> Playing:
        taught = self._of_lesson(self.name)
        if taught is not None:
            self._scenes = lambda: taught
        return ready_playing(self._scenes, self._begins)

    async def _keep_time(self, playing: Playing) -> None:
        """Loops over orders, steps and a frame while somebody watches."""
        last_s = due_s = time.monotonic()
        while self.viewers:
            await self._do_what_waits(playing)
            now_s = time.monotonic()
            gap_s, last_s = now_s - last_s, now_s
            if gap_s > ASLEEP_S and not playing.paused:
                self._tell(f"The machine was asleep for {gap_s:.0f} s; the bench waited.")
            steps = playing.steps_due(min(gap_s, GREATEST_GAP_S))
            if steps:
                if playing.is_light(steps):
                    playing.fly(steps, time.perf_counter)
                else:
                    await asyncio.to_thread(playing.fly, steps, time.perf_counter)
            self._broadcast(playing)
            due_s = max(due_s + (PAUSED_FRAME_S if playing.paused else FRAME_S), now_s)
            await self._until(due_s, playing.paused)

    async def _until(self, due_s: float, paused: bool) -> None:
        """Wait for the next frame; while time is stopped, only until the next order."""
        wait_s = max(due_s - time.monotonic(), 0.0)
        if not paused:
            await asyncio.sleep(wait_s)
            return
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._wake.wait(), wait_s)
        self._wake.clear()

    async def _do_what_waits(self, playing: Playing) -> None:
        while self._waiting:
            viewer, order = self._waiting.popleft()
            try:
                if isinstance(order, LONG_ORDERS):
                    words = await asyncio.to_thread(playing.obey, order)
                else:
                    words = playing.obey(order)
            except InputError as error:
                viewer.say(refusal_of(error))
                continue
            if words:
                self._tell(words)

    def _broadcast(self, playing: Playing) -> None:
        self._number += 1
        frame = {
            "kind": "frame",
            "n": self._number,
            "pace": playing.pace,
            "paused": playing.paused,
            "runs": playing.until_step is not None,
            "scene": playing.scene_id,
            "step": playing.step,
            "viewers": len(self.viewers),
            **playing.frame(),
        }
        if frame["caption"] and playing.scene_id not in self._scenes().own:
            frame["caption"] = spoken_of_parts(frame["caption"])
        events: list[Happened] = list(playing.bench.events)[-RECENT_EVENTS:]
        picture = Picture(msgspec.json.encode(frame), events)
        for viewer in self.viewers:
            viewer.show(picture)


class Rooms:
    """All benches of the server, on which these scenes can be opened."""

    def __init__(
        self,
        scenes: Callable[[], Library] = library,
        begins: Callable[[], Scene] = lambda: EMPTY_BENCH,
        of_lesson: OfLesson = lambda _: None,
    ) -> None:
        self._scenes = scenes
        self.begins = begins
        self._of_lesson = of_lesson
        self._rooms: dict[str, Room] = {}

    def enter(self, name: str) -> Room:
        """The bench with this name, opened if necessary.

        Raises:
            InputError: an invalid name, or too many benches or viewers.
        """
        name = name or DEFAULT
        if not _NAME.fullmatch(name):
            raise InputError(
                "bench",
                f"'{name[:40]}' is not a valid name",
                "use lower-case letters, digits, - and _, at most 40",
            )
        room = self._rooms.get(name)
        if room is None:
            self._sweep()
            if len(self._rooms) >= GREATEST_ROOMS:
                open_ = ", ".join(sorted(self._rooms))
                raise InputError("bench", f"{GREATEST_ROOMS} benches are open", f"use one of these: {open_}")
            room = self._rooms[name] = Room(name, self._scenes, self.begins, self._of_lesson)
        if len(room.viewers) >= GREATEST_VIEWERS:
            raise InputError("bench", f"it has {GREATEST_VIEWERS} viewers already", "wait until one has left")
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
