"""The scenes of a lesson, by id or by a bench's address: their times and their wrong ideas.

Each scene whose moments are used in a lesson is run once, with its wrong ideas as ghosts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache

from lubberline.angles import wrapped_deg
from lubberline.classroom.lessons.lesson import Show
from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.headed_markdown import Section
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.orders import Ghost
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID
from lubberline.simulation.scenes import Edition, Library, number_in

LONGEST_BENCH_S = 7200.0
MOST_GHOSTS = 6
PATH = re.compile(r"[a-z][a-z0-9_]*(\.[a-z0-9_-]+)*")


def scene_of(scene_ref: str, where: str, scenes: Library) -> Scene:
    """The scene of a library with an id, or of a bench's address.

    Raises:
        InputError: there is none; names `where`.
    """
    try:
        named = scene_ref in scenes or not scene_ref[:1].isdigit()
        return scenes.named(scene_ref) if named else scene_at(scene_ref)
    except InputError as error:
        raise InputError(where, error.wrong, error.right) from None


def is_southern(scene_ref: str, where: str, scenes: Library) -> bool:
    """Whether a scene or a bench begins in the southern hemisphere."""
    return scene_of(scene_ref, where, scenes).entry.start.latitude_deg < 0.0


def length_of(scene_ref: str, where: str, scenes: Library) -> float:
    """The greatest time of a scene or a bench."""
    scene = scene_of(scene_ref, where, scenes)
    return scene.length_s if scene_ref in scenes else LONGEST_BENCH_S


def flown(part: Section, key: str) -> tuple[str, ...]:
    """Ids of wrong ideas that can be flown.

    Raises:
        InputError: an unknown idea, one that cannot be flown, or too many.
    """
    for word in part.text(key, "").split(","):
        if (name := word.strip()) in BY_ID and name not in FLOWN_BY_ID:
            wrong = f"the wrong idea '{name}' is {BY_ID[name].kind} and cannot be flown"
            raise InputError(part.where(key), wrong, "use a physical one; see docs/methods/misconceptions.md")
    return part.some_of(key, FLOWN_BY_ID, MOST_GHOSTS)


def scene_or_bench(part: Section, scenes: Library) -> tuple[str, str]:
    """The scene's id and the bench's address, one of which is ''.

    Raises:
        InputError: neither or both are given, or there is no such scene.
    """
    if part.has("scene") == part.has("bench"):
        wrong = "both a scene and a bench" if part.has("scene") else "neither a scene nor a bench"
        where = part.where("bench" if part.has("bench") else "")
        raise InputError(where, wrong, "give exactly one: scene: ID or bench: ADDRESS")
    if part.has("scene"):
        return _scene_id(part, scenes), ""
    address = part.text("bench").removeprefix("/bench?state=")
    address = scenes.fitted(address, part.text("aircraft", ""), part.where("aircraft"))
    scene_of(address, part.where("bench"), scenes)
    return "", address


def _scene_id(part: Section, scenes: Library) -> str:
    id = part.text("scene")
    try:
        scenes.named(id)
    except InputError as error:
        raise InputError(part.where("scene"), error.wrong, error.right) from None
    return id


def show_of(part: Section, scenes: Library) -> Show:
    """The part of a scene played in a step.

    Raises:
        InputError: no such scene, or times outside it.
    """
    scene, bench = scene_or_bench(part, scenes)
    length = length_of(scene or bench, part.where(), scenes)
    from_s = part.number("from", 0.0, length, 0.0)
    if bench and not part.has("to"):
        raise InputError(part.where("bench"), "a bench has no fixed end", "write to: SECONDS")
    to_s = part.number("to", 0.0, length, length)
    if to_s <= from_s:
        wrong = f"it ends at {to_s:g} s and starts at {from_s:g} s"
        raise InputError(part.where("to" if part.has("to") else "from"), wrong, "end after the start")
    return Show(scene, bench, from_s, to_s, part.number("pace", 0.1, 600.0, 0.0))


# The ghost's number for a path of the truth; an error is computed from its reading.
GHOST_PATHS = {
    "shown.indicated_deg": "indicated_deg",
    "shown.compass_deg": "compass_deg",
    "shown.error_deg": "indicated_deg",
    "shown.compass_error_deg": "compass_deg",
    "gyro.tilt_deg": "tilt_deg",
}
_READ = {"shown.error_deg": "shown.indicated_deg", "shown.compass_error_deg": "shown.compass_deg"}
Progress = Callable[[int, int], None]
MOST_KEPT = 400


def ghost_number(frame: Frame, path: str, idea: str) -> float:
    """The value of a number under a wrong idea.

    Raises:
        InputError: the ghost has no such number, or is not in the scene.
    """
    side = "second." if path.startswith("second.") else ""
    plain = path.removeprefix("second.")
    if plain not in GHOST_PATHS:
        raise InputError(path, "a ghost does not have this number", "use one of: " + ", ".join(GHOST_PATHS))
    expected = number_in(frame, f"{side}ghosts.{idea}.{GHOST_PATHS[plain]}")
    if plain not in _READ:
        return expected
    zero = number_in(frame, side + _READ[plain]) - number_in(frame, path)
    return -wrapped_deg(zero - expected)


class WantedMoments:
    """The moments needed of scenes of a library, collected before any of them is run."""

    def __init__(self, scenes: Library) -> None:
        self._scenes = scenes
        self._moments: dict[tuple[str, float], set[int]] = {}
        self._ghosts: dict[tuple[str, float], list[str]] = {}

    def want(
        self, scene_ref: str, at_s: float, ghosts: Iterable[str] = (), ghosts_from_s: float = 0.0
    ) -> None:
        """Adds a moment of a scene, with these wrong ideas from a time on."""
        key = (scene_ref, ghosts_from_s)
        self._moments.setdefault(key, set()).add(round(at_s / STEP_S))
        known = self._ghosts.setdefault(key, [])
        known += [id for id in ghosts if id not in known]

    def run(self, progress: Progress | None = None) -> SceneFrames:
        """Runs every scene needed.

        Args:
            progress: called with the number of runs done and the total.

        Raises:
            InputError: an order of a scene that cannot be carried out.
        """
        seen = SceneFrames()
        for done, ((scene_ref, from_s), steps) in enumerate(self._moments.items()):
            if progress:
                progress(done, len(self._moments))
            ghosts = self._ghosts[(scene_ref, from_s)]
            scene = scene_of(scene_ref, scene_ref, self._scenes)
            found = Edition(scene_ref, self._scenes.version_of(scene_ref), scene)
            own = MOST_GHOSTS - len(_own_ghosts(scene))
            beside = [id for id in ghosts if id not in _own_ghosts(scene)]
            groups = [beside[at : at + own] for at in range(0, len(beside), max(own, 1))] or [[]]
            for group in groups:
                seen.put(
                    scene_ref,
                    from_s,
                    _frames(found, tuple(sorted(steps)), tuple(group), round(from_s / STEP_S)),
                )
        if progress:
            progress(len(self._moments), len(self._moments))
        return seen


class SceneFrames:
    """Frames of moments, with the ghosts of all runs of a scene combined."""

    def __init__(self) -> None:
        self._frames: dict[tuple[str, float, int], Frame] = {}

    def put(self, scene_ref: str, from_s: float, frames: dict[int, Frame]) -> None:
        """Adds the frames of a run."""
        for step, frame in frames.items():
            before = self._frames.get((scene_ref, from_s, step))
            self._frames[(scene_ref, from_s, step)] = _joined(before, frame) if before else frame

    def at(self, scene_ref: str, at_s: float, ghosts_from_s: float = 0.0) -> Frame:
        """The frame of a moment."""
        return self._frames[(scene_ref, ghosts_from_s, round(at_s / STEP_S))]

    def number(
        self, where: str, scene_ref: str, at_s: float, path: str, ghosts_from_s: float = 0.0, idea: str = ""
    ) -> float:
        """A number at a moment, or its value under a wrong idea.

        Raises:
            InputError: the frame or the ghost has no such number; names `where`.
        """
        frame = self.at(scene_ref, at_s, ghosts_from_s)
        try:
            return ghost_number(frame, path, idea) if idea else number_in(frame, path)
        except InputError as error:
            raise InputError(where, error.wrong, error.right) from None


def _joined(one: Frame, other: Frame) -> Frame:
    """A frame with the ghosts of another run of the same scene added."""
    there = {ghost["id"] for ghost in one["ghosts"]}
    joined = {**one, "ghosts": one["ghosts"] + [g for g in other["ghosts"] if g["id"] not in there]}
    if "second" in one:
        joined["second"] = _joined(one["second"], other["second"])
    return joined


def _own_ghosts(scene: Scene) -> set[str]:
    """The wrong ideas in a scene itself."""
    return {event.order.id for event in scene.events if isinstance(event.order, Ghost) and event.order.on}


@lru_cache(maxsize=MOST_KEPT)
def _frames(
    found: Edition, steps: tuple[int, ...], ghosts: tuple[str, ...], ghosts_at: int
) -> dict[int, Frame]:
    bench = Bench(found.scene)
    frames = {}
    for step in sorted({*steps, *([ghosts_at] if ghosts else [])}):
        bench.advance(step - bench.state.step)
        if ghosts and step == ghosts_at:
            for id in ghosts:
                bench.give(Ghost(id, True))
        if step in steps:
            frames[step] = bench.frame()
    if bench.failures:
        raise bench.failures[0]
    return frames
