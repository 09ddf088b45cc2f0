"""Lesson files, in Markdown that a person writes: read, checked, found in a folder.

`docs/lessons.md` says how one is written.
"""

from __future__ import annotations

import re
from pathlib import Path

from lubberline.classroom.lessons.fields import Fields
from lubberline.classroom.lessons.lesson import (
    Lesson,
)
from lubberline.classroom.lessons.lines import Line, Part, parts_of
from lubberline.classroom.lessons.steps import steps_of
from lubberline.classroom.lessons.text import numbers_in
from lubberline.errors import InputError
from lubberline.textfile import text_of

GREATEST_BYTES = 200_000
_ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")


def lesson_from_text(source: str, text: str) -> Lesson:
    """A lesson from the text of its file.

    Args:
        source: the file's name, for messages; without its ending the lesson's id, where the text gives none.
        text: of the file.

    Raises:
        InputError: naming source and line, for anything that is not right.
    """
    size = len(text.encode("utf-8", "replace"))
    if size > GREATEST_BYTES:
        raise InputError(source, f"{size // 1000} kB", f"a lesson of at most {GREATEST_BYTES // 1000} kB")
    parts = parts_of(source, text.removeprefix("\ufeff"))
    front = Fields(source, parts[0])
    id = front.text("id", Path(source).stem)
    if not _ID.fullmatch(id):
        right = "small letters, digits, - and _, as wander_and_setting"
        raise InputError(front.where("id"), f"the id '{id[:60]}'", right)
    lines = [line for part in parts for line in _written(part)]
    return Lesson(
        id=id,
        title=parts[0].title,
        minutes=front.number("minutes", 1.0, 600.0),
        aim=front.text("aim"),
        needs=front.text("needs", ""),
        steps=steps_of(source, parts[1:]),
        source=source,
        text=text,
        numbers=numbers_in(source, lines),
    )


def _written(part: Part) -> list[Line]:
    """The lines of a part in which numbers may stand: what is said, noted, and set below options."""
    under = [line for option in part.options for line in option.under]
    head = [part.head[key] for key in ("because", "short") if key in part.head]
    return [*head, *part.body, *part.notes, *under, *(Line(one.line, one.text) for one in part.options)]


def read_lesson(path: str | Path) -> Lesson:
    """The lesson of a file.

    Raises:
        InputError: when it cannot be read or is not right; names file and line.
    """
    return lesson_from_text(Path(path).name, text_of(path, "a lesson file (Markdown)", GREATEST_BYTES))


def lessons_of(folder: str | Path) -> list[Lesson]:
    """The lessons of a folder, in order of their files' names.

    Raises:
        InputError: for a file that is not right, or when there is no such folder.
    """
    if not Path(folder).is_dir():
        raise InputError(str(folder), "there is no such folder", "give the folder of the lessons")
    return [read_lesson(path) for path in sorted(Path(folder).glob("*.md"))]
