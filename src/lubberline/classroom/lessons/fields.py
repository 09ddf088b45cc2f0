"""Values in a lesson's head: numbers, names and lists, each complaint with its line."""

from __future__ import annotations

import math
import re
from collections.abc import Collection

from lubberline.classroom.lessons.lesson import Show
from lubberline.classroom.lessons.lines import Line, Part
from lubberline.errors import InputError, nearest_of
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID
from lubberline.simulation.scenes import library, scene_named

LONGEST_BENCH_S = 7200.0
MOST_GHOSTS = 6
PATH = re.compile(r"[a-z][a-z0-9_]*(\.[a-z0-9_-]+)*")


class Fields:
    """The head of a part, read by key."""

    def __init__(self, source: str, part: Part) -> None:
        self.source = source
        self.part = part

    def where(self, key: str = "") -> str:
        """File and line of a key, or of the heading."""
        line = self.part.head[key].number if key in self.part.head else self.part.line
        return f"{self.source}, line {line}"

    def has(self, key: str) -> bool:
        """Whether the key is given."""
        return key in self.part.head

    def line(self, key: str) -> Line:
        """The value with its line.

        Raises:
            InputError: when it is not given.
        """
        if key not in self.part.head:
            raise InputError(self.where(), f"'{key}' is missing", f"write {key}: ... below the heading")
        return self.part.head[key]

    def text(self, key: str, default: str | None = None) -> str:
        """The value as it stands.

        Raises:
            InputError: when it is not given and has no default.
        """
        if default is not None and key not in self.part.head:
            return default
        return self.line(key).text

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A number between two others.

        Raises:
            InputError: when it is none, or not given without a default.
        """
        if default is not None and key not in self.part.head:
            return default
        line = self.line(key)
        value = plain_number(line.text)
        if value is None or not low <= value <= high:
            right = f"a number from {low:g} to {high:g}"
            raise InputError(self.where(key), f"{key} '{line.text[:30]}'", right)
        return value

    def one_of(self, key: str, allowed: Collection[str], default: str | None = None) -> str:
        """A word of a list.

        Raises:
            InputError: when it is not in it.
        """
        value = self.text(key, default)
        if value not in allowed:
            right = nearest_of(value, list(allowed))
            raise InputError(self.where(key), f"there is no {key} '{value[:60]}'", right)
        return value

    def some_of(self, key: str, allowed: Collection[str], most: int) -> tuple[str, ...]:
        """Words of a list, parted by commas; nothing when the key is not given.

        Raises:
            InputError: a word that is not in it, twice the same, or too many.
        """
        if key not in self.part.head:
            return ()
        words = [word.strip() for word in self.text(key).split(",")]
        for word in words:
            if word not in allowed:
                right = nearest_of(word, list(allowed))
                raise InputError(self.where(key), f"there is nothing called '{word[:60]}'", right)
        if len(words) > most or len(set(words)) < len(words):
            right = f"at most {most}, each once"
            raise InputError(self.where(key), f"{len(words)} in '{key}'", right)
        return tuple(words)


def plain_number(text: str) -> float | None:
    """The finite number that a text stands for, or None."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def scene_of(scene_ref: str, where: str) -> Scene:
    """The scene of an id, or the one that a bench's address stands for.

    Raises:
        InputError: naming `where`, when there is none.
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
    """For how long a scene or a bench may be watched."""
    scene = scene_of(scene_ref, where)
    return scene.length_s if scene_ref in library() else LONGEST_BENCH_S


def flown(fields: Fields, key: str) -> tuple[str, ...]:
    """Ids of wrong ideas that can be flown.

    Raises:
        InputError: for one that does not exist or cannot be flown, or too many.
    """
    for word in fields.text(key, "").split(","):
        if (name := word.strip()) in BY_ID and name not in FLOWN_BY_ID:
            wrong = f"the wrong idea '{name}' is {BY_ID[name].kind}, and no gyro follows it"
            raise InputError(fields.where(key), wrong, "a physical one; see docs/misconceptions.md")
    return fields.some_of(key, FLOWN_BY_ID, MOST_GHOSTS)


def scene_or_bench(fields: Fields) -> tuple[str, str]:
    """The scene's id and the bench's address, one of which is ''.

    Raises:
        InputError: when neither or both are given, or there is no such thing.
    """
    if fields.has("scene") == fields.has("bench"):
        wrong = "both a scene and a bench" if fields.has("scene") else "neither a scene nor a bench"
        where = fields.where("bench" if fields.has("bench") else "")
        raise InputError(where, wrong, "one of: scene: ID, or bench: ADDRESS")
    if fields.has("scene"):
        return fields.one_of("scene", library()), ""
    address = fields.text("bench").removeprefix("/bench?state=")
    scene_of(address, fields.where("bench"))
    return "", address


def show_of(fields: Fields) -> Show:
    """What a step plays.

    Raises:
        InputError: no such scene, or times outside it.
    """
    scene, bench = scene_or_bench(fields)
    length = length_of(scene or bench, fields.where())
    from_s = fields.number("from", 0.0, length, 0.0)
    if bench and not fields.has("to"):
        raise InputError(fields.where("bench"), "a bench has no end of its own", "write to: SECONDS")
    to_s = fields.number("to", 0.0, length, length)
    if to_s <= from_s:
        wrong = f"it ends at {to_s:g} s and begins at {from_s:g} s"
        raise InputError(fields.where("to" if fields.has("to") else "from"), wrong, "end after the beginning")
    return Show(scene, bench, from_s, to_s, fields.number("pace", 0.1, 600.0, 0.0))
