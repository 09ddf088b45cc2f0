"""A lesson's file taken apart by lines: front, steps, their heads, texts, notes and options."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import get_args

from lubberline.classroom.lessons.lesson import StepKind
from lubberline.errors import InputError, nearest_of

KINDS: tuple[StepKind, ...] = get_args(StepKind)
FRONT_KEYS = ("id", "minutes", "aim", "needs")
PLAYS = ("scene", "bench", "from", "to", "pace")
# What may stand below each kind of heading.
STEP_KEYS: dict[str, tuple[str, ...]] = {
    "say": ("minutes", "short"),
    "show": ("minutes", "short", *PLAYS, "ghosts"),
    "predict": (
        "minutes", "answer", "scene", "bench", "at", "stands at", "asks", "unit", "tolerance", "ideas",
        "ghosts from", "because", "topic", "level",
    ),
    "reveal": ("minutes", "short", *PLAYS, "ghosts"),
    "explain": ("minutes", "short"),
    "quiz": ("minutes", "models", "topics", "levels", "count", "seed"),
}  # fmt: skip
LONGEST_LINE, LONGEST_TITLE, MOST_STEPS = 2000, 120, 80
_TITLE = re.compile(r"#\s+(.*\S)\s*$")
_STEP = re.compile(r"##\s+(?:([A-Za-z]+)\s*:)?\s*(.*?)\s*$")
_HEAD = re.compile(r"([a-z][a-z ]{0,30}?)\s*:(?:\s+(.*?))?\s*$")
_OPTION = re.compile(r"[-*+]\s+\[(.?)\]\s*(.*?)\s*$")
_FENCE = re.compile(r"\s{0,3}(```|~~~)")


@dataclass(frozen=True)
class Line:
    """A line with its number in the file."""

    number: int
    text: str


@dataclass
class OptionPart:
    """An option as it stands: the line of its box, and what is set in below it."""

    line: int
    box: str
    text: str
    under: list[Line] = field(default_factory=list)


@dataclass
class Part:
    """The front or a step: its heading, its head by key, its text, notes and options."""

    line: int
    kind: str
    title: str
    head: dict[str, Line] = field(default_factory=dict)
    body: list[Line] = field(default_factory=list)
    notes: list[Line] = field(default_factory=list)
    options: list[OptionPart] = field(default_factory=list)
    in_head: bool = True
    fence: str = ""


def _lines(source: str, text: str) -> Iterator[Line]:
    for number, raw in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), start=1):
        line = raw.expandtabs(4).rstrip()
        where = f"{source}, line {number}"
        if len(line) > LONGEST_LINE:
            raise InputError(where, f"{len(line)} letters in a line", f"at most {LONGEST_LINE}")
        for sign in line:
            if unicodedata.category(sign) in ("Cc", "Cs", "Co", "Cn"):
                wrong = f"a sign that cannot be printed (U+{ord(sign):04X})"
                raise InputError(where, wrong, "take it out")
        yield Line(number, line)


def parts_of(source: str, text: str) -> list[Part]:
    """The front and the steps of a lesson's text.

    Raises:
        InputError: naming source and line, for a line that belongs to nothing.
    """
    parts: list[Part] = []
    for line in _lines(source, text):
        _take(parts, source, line)
    if not parts:
        raise InputError(f"{source}, line 1", "there is nothing in it", "begin with its title: # Title")
    if len(parts) == 1:
        right = "write a step: ## Say: Title"
        raise InputError(f"{source}, line {parts[0].line}", "the lesson has no steps", right)
    if len(parts) > MOST_STEPS + 1:
        where = f"{source}, line {parts[MOST_STEPS + 1].line}"
        raise InputError(where, f"{len(parts) - 1} steps", f"at most {MOST_STEPS} a lesson")
    return parts


def _take(parts: list[Part], source: str, line: Line) -> None:
    where = f"{source}, line {line.number}"
    if parts and parts[-1].fence:
        _take_text(parts[-1], line)
    elif not parts:
        if line.text:
            parts.append(Part(line.number, "front", _title(where, line.text)))
    elif line.text.startswith("## "):
        parts.append(_step(where, line))
    elif line.text.startswith("# "):
        raise InputError(where, "a second title", "one # Title a file; a step begins with ##")
    elif parts[-1].kind == "front":
        _take_front(parts[-1], where, line)
    else:
        _take_below(parts[-1], where, line)


def _title(where: str, text: str) -> str:
    found = _TITLE.match(text)
    if not found:
        raise InputError(where, f"'{text[:40]}' stands before the title", "begin with its title: # Title")
    return _short(where, found[1])


def _short(where: str, title: str) -> str:
    if len(title) > LONGEST_TITLE:
        raise InputError(where, f"a title of {len(title)} letters", f"at most {LONGEST_TITLE}")
    return title


def _step(where: str, line: Line) -> Part:
    found = _STEP.match(line.text)
    kind = (found[1] or "").lower() if found else ""
    shape = "## Say: Title (or Show, Predict, Reveal, Explain, Quiz)"
    if found is None or not kind:
        raise InputError(where, f"'{line.text[:50]}' names no kind of step", f"write {shape}")
    if kind not in KINDS:
        raise InputError(where, f"there is no kind of step '{found[1][:30]}'", nearest_of(kind, list(KINDS)))
    if not found[2]:
        raise InputError(where, "the step has no title", f"write {shape}")
    return Part(line.number, kind, _short(where, found[2]))


def _take_front(part: Part, where: str, line: Line) -> None:
    if not line.text:
        return
    if not _take_head(part, where, line, FRONT_KEYS):
        right = "key: value (id, minutes, aim, needs), then the first step: ## Say: Title"
        raise InputError(where, f"'{line.text[:40]}' belongs to no step", right)


def _take_head(part: Part, where: str, line: Line, allowed: tuple[str, ...]) -> bool:
    found = _HEAD.match(line.text)
    if not found:
        return False
    key, value = found[1], found[2] or ""
    if key not in allowed:
        raise InputError(where, f"unknown key '{key}'", nearest_of(key, list(allowed)))
    if key in part.head:
        raise InputError(where, f"'{key}' is there already (line {part.head[key].number})", "give it once")
    if not value:
        raise InputError(where, f"'{key}' has no value", "write it on this line")
    part.head[key] = Line(line.number, value)
    return True


def _take_below(part: Part, where: str, line: Line) -> None:
    if part.in_head:
        if not line.text:
            part.in_head = not part.head
            return
        if _take_head(part, where, line, STEP_KEYS[part.kind]):
            return
        part.in_head = False
    option = _OPTION.match(line.text) if part.kind == "predict" else None
    if line.text.startswith(">"):
        part.notes.append(Line(line.number, line.text[1:].removeprefix(" ")))
    elif option:
        part.options.append(OptionPart(line.number, option[1], option[2]))
    elif part.options and line.text.startswith("  "):
        part.options[-1].under.append(Line(line.number, line.text.strip()))
    elif part.options and line.text:
        right = "set a reason two spaces in below its option; notes begin with >"
        raise InputError(where, "text after the options that belongs to nothing", right)
    elif not part.options:
        _take_text(part, line)
    if not line.text and part.notes and part.notes[-1].text:
        part.notes.append(line)


def _take_text(part: Part, line: Line) -> None:
    fence = _FENCE.match(line.text)
    if fence:
        part.fence = "" if part.fence == fence[1] else part.fence or fence[1]
    part.body.append(line)
