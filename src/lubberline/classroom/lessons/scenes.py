"""The scenes of a lesson, by id or by a bench's address: their times and their wrong ideas."""

import re

from lubberline.classroom.lessons.lesson import Show
from lubberline.errors import InputError
from lubberline.headed_markdown import Section
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID
from lubberline.simulation.scenes import library, scene_named

LONGEST_BENCH_S = 7200.0
MOST_GHOSTS = 6
PATH = re.compile(r"[a-z][a-z0-9_]*(\.[a-z0-9_-]+)*")


def scene_of(scene_ref: str, where: str) -> Scene:
    """The scene with an id, or of a bench's address.

    Raises:
        InputError: there is none; names `where`.
    """
    try:
        return (
            scene_named(scene_ref)
            if scene_ref in library() or not scene_ref[:1].isdigit()
            else scene_at(scene_ref)
        )
    except InputError as error:
        raise InputError(where, error.wrong, error.right) from None


def length_of(scene_ref: str, where: str) -> float:
    """The greatest time of a scene or a bench."""
    scene = scene_of(scene_ref, where)
    return scene.length_s if scene_ref in library() else LONGEST_BENCH_S


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


def scene_or_bench(part: Section) -> tuple[str, str]:
    """The scene's id and the bench's address, one of which is ''.

    Raises:
        InputError: neither or both are given, or there is no such scene.
    """
    if part.has("scene") == part.has("bench"):
        wrong = "both a scene and a bench" if part.has("scene") else "neither a scene nor a bench"
        where = part.where("bench" if part.has("bench") else "")
        raise InputError(where, wrong, "give exactly one: scene: ID or bench: ADDRESS")
    if part.has("scene"):
        return part.one_of("scene", library()), ""
    address = part.text("bench").removeprefix("/bench?state=")
    scene_of(address, part.where("bench"))
    return "", address


def show_of(part: Section) -> Show:
    """The part of a scene played in a step.

    Raises:
        InputError: no such scene, or times outside it.
    """
    scene, bench = scene_or_bench(part)
    length = length_of(scene or bench, part.where())
    from_s = part.number("from", 0.0, length, 0.0)
    if bench and not part.has("to"):
        raise InputError(part.where("bench"), "a bench has no fixed end", "write to: SECONDS")
    to_s = part.number("to", 0.0, length, length)
    if to_s <= from_s:
        wrong = f"it ends at {to_s:g} s and starts at {from_s:g} s"
        raise InputError(part.where("to" if part.has("to") else "from"), wrong, "end after the start")
    return Show(scene, bench, from_s, to_s, part.number("pace", 0.1, 600.0, 0.0))
