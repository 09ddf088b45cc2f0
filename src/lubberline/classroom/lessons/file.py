"""Lesson files in Markdown: reads and checks them, and finds them in a folder.

`docs/instructors/lessons.md` describes the format.
"""

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

import msgspec

from lubberline.classroom.lessons.lesson import Lesson, Step, StepKind
from lubberline.classroom.lessons.steps import steps_of
from lubberline.classroom.lessons.text import check_parts, numbers_in
from lubberline.errors import Faults, InputError, nearest_of
from lubberline.flight.home import home_from_fields
from lubberline.headed_markdown import Line, Section, numbered_lines, option_in, short
from lubberline.questions.handwritten import HandwrittenItem, items_from_text, written
from lubberline.simulation.live.address import carried_by
from lubberline.simulation.scenes import Library, library
from lubberline.textfile import text_of

Items = Mapping[str, HandwrittenItem]
GREATEST_BYTES = 200_000
KINDS: tuple[StepKind, ...] = get_args(StepKind)
FRONT_KEYS = ("id", "minutes", "aim", "needs", "aircraft")
PLAYS = ("scene", "bench", "aircraft", "from", "to", "pace")
# What is allowed below each kind of heading.
STEP_KEYS: dict[str, tuple[str, ...]] = {
    "say": ("minutes", "short", *PLAYS),
    "show": ("minutes", "short", *PLAYS, "ghosts"),
    "predict": (
        "minutes", "answer", "scene", "bench", "aircraft", "at", "stands at", "asks", "unit", "tolerance",
        "ideas", "ghosts from", "because", "topic", "level",
    ),
    "reveal": ("minutes", "short", *PLAYS, "ghosts"),
    "explain": ("minutes", "short", *PLAYS),
    "quiz": ("minutes", "models", "topics", "levels", "count", "seed"),
}  # fmt: skip
LONGEST_TITLE, MOST_STEPS = 120, 80
_TITLE = re.compile(r"#\s+(.*\S)\s*$")
_STEP = re.compile(r"##\s+(?:([A-Za-z]+)\s*:)?\s*(.*?)\s*$")
_HEAD = re.compile(r"([a-z][a-z ]{0,30}?)\s*:(?:\s+(.*?))?\s*$")
# Between the text of a lesson and the scenes that it carries; no lesson has such a character.
_CARRIED = "\x1e"
_FENCE = re.compile(r"\s{0,3}(```|~~~)")
_ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")


def lesson_from_text(
    source: str, text: str, scenes: Library | None = None, items: Items | None = None
) -> Lesson:
    """A lesson from the text of its file.

    Args:
        source: the file's name, for messages; without its ending, the lesson's id if the text has none.
        text: of the file.
        scenes: those that it may play; by default the package's.
        items: written by hand, which a quiz may name, by their models.

    Raises:
        InputError: naming source and line, for any error.
    """
    scenes = library() if scenes is None else scenes
    size = len(text.encode("utf-8", "replace"))
    if size > GREATEST_BYTES:
        raise InputError(source, f"{size // 1000} kB", f"at most {GREATEST_BYTES // 1000} kB")
    faults = Faults()
    parts = parts_of(source, text.removeprefix("\ufeff"), faults)
    front = parts[0]
    lines = [line for part in parts for line in _written(part)]
    id, minutes, aim = front.text("id", Path(source).stem), 0.0, ""
    steps: tuple[Step, ...] = ()
    with faults.noted():
        check_id(front.where("id"), id)
    with faults.noted():
        minutes = front.number("minutes", 1.0, 600.0)
    with faults.noted():
        aim = front.text("aim")
    with faults.noted():
        _name_aircraft(parts, scenes)
    with faults.noted():
        check_parts(source, lines)
    with faults.noted():
        steps = steps_of(parts[1:], scenes, items or {})
    faults.tell()
    return Lesson(
        id=id,
        title=front.title,
        minutes=minutes,
        aim=aim,
        needs=front.text("needs", ""),
        steps=steps,
        source=source,
        text=text,
        numbers=tuple(one for part in parts for one in numbers_in(source, _written(part), scenes, part)),
        scenes=scenes,
    )


def _name_aircraft(parts: list[Section], scenes: Library) -> None:
    """Passes the lesson's aircraft on to the steps, and checks every name.

    Raises:
        InputError: there is no such aircraft, or it stands beside a scene, which has its own.
    """
    for part in parts:
        if part.has("aircraft"):
            carried_by(part.where("aircraft"), part.text("aircraft"), scenes.aircraft)
            if part.has("scene"):
                right = "leave it out: a scene has its own aircraft"
                raise InputError(part.where("aircraft"), "an aircraft for a scene", right)
        elif parts[0].has("aircraft"):
            part.head["aircraft"] = parts[0].head["aircraft"]


def check_id(where: str, id: str) -> None:
    """Whether a word can be the id of a lesson.

    Raises:
        InputError: it cannot.
    """
    if not _ID.fullmatch(id):
        right = "use lower-case letters, digits, - and _, such as wander_and_setting"
        raise InputError(where, f"the id '{id[:60]}'", right)


def _written(part: Section) -> list[Line]:
    """The lines of a part that may have numbers and links: text, notes, and reasons below options."""
    under = [line for option in part.options for line in option.under]
    head = [part.head[key] for key in ("because", "short") if key in part.head]
    return [*head, *part.body, *part.notes, *under, *(Line(one.line, one.text) for one in part.options)]


def with_own_scenes(lesson: Lesson) -> str:
    """A lesson's text with the school's scenes and items in it: a sitting keeps all as they were then."""
    scenes, library = lesson.scenes.texts(lesson.scene_refs), lesson.scenes
    items = written(one for step in lesson.steps if step.quiz for one in step.quiz.own)
    own: dict[str, Any] = {"scenes": scenes, "items": items}
    if library.home and any(map(library.version_of, lesson.scene_refs)):
        own["home"] = msgspec.to_builtins(library.home)
    if aircraft := library.aircraft_in("".join([lesson.text, *scenes.values()])):
        own |= {"aircraft": aircraft, "home": msgspec.to_builtins(library.home)}
    return f"{lesson.text}{_CARRIED}{json.dumps(own)}" if any(own.values()) else lesson.text


def lesson_with_scenes(source: str, text: str) -> Lesson:
    """A lesson from the text that `with_own_scenes` gives.

    Raises:
        InputError: as `lesson_from_text`.
    """
    plain, _, carried = text.partition(_CARRIED)
    if not carried:
        return lesson_from_text(source, plain)
    own = json.loads(carried)
    records = items_from_text(source, own["items"]) if own["items"] else ()
    items = {record.item.model: record for record in records}
    home = home_from_fields(source, own["home"]) if own.get("home") else None
    return lesson_from_text(
        source, plain, Library(own["scenes"], home=home, aircraft=own.get("aircraft")), items
    )


def read_lesson(path: str | Path, scenes: Library | None = None, items: Items | None = None) -> Lesson:
    """The lesson of a file; `scenes` and `items` as for `lesson_from_text`.

    Raises:
        InputError: it cannot be read or has an error; names file and line.
    """
    text = text_of(path, "a lesson file (Markdown)", GREATEST_BYTES)
    return lesson_from_text(Path(path).name, text, scenes, items)


def lessons_of(folder: str | Path) -> list[Lesson]:
    """The lessons of a folder, in order of their files' names.

    Raises:
        InputError: for a file with an error, or a missing folder.
    """
    if not Path(folder).is_dir():
        raise InputError(str(folder), "there is no such folder", "give the folder with the lessons")
    return [read_lesson(path) for path in sorted(Path(folder).glob("*.md"))]


def parts_of(source: str, text: str, faults: Faults | None = None) -> list[Section]:
    """The front and the steps of a lesson's text; what is wrong with a line goes to `faults`, if given.

    Raises:
        InputError: naming source and line, for a line that does not belong anywhere.
    """
    parts, noted = list[Section](), faults or Faults()
    for line in numbered_lines(source, text):
        with noted.noted():
            _take(parts, source, line)
    if faults is None or not parts:
        noted.tell()
    if not parts:
        raise InputError(f"{source}, line 1", "the file is empty", "start with the title: # Title")
    if len(parts) == 1:
        raise InputError(parts[0].where(), "the lesson has no steps", "write a step: ## Say: Title")
    if len(parts) > MOST_STEPS + 1:
        wrong = f"{len(parts) - 1} steps"
        raise InputError(parts[MOST_STEPS + 1].where(), wrong, f"at most {MOST_STEPS} per lesson")
    return parts


def _take(parts: list[Section], source: str, line: Line) -> None:
    """Add a line to its part, or start a part with it."""
    where = f"{source}, line {line.number}"
    if not parts:
        if line.text:
            parts.append(Section(source, line.number, "front", _title(where, line.text)))
    elif parts[-1].fence:
        _take_text(parts[-1], line)
    elif line.text.startswith("## "):
        parts.append(_step(source, line))
    elif line.text.startswith("# "):
        raise InputError(where, "a second title", "use one # Title per file; a step starts with ##")
    elif parts[-1].kind != "front":
        _take_below(parts[-1], where, line)
    elif line.text and not parts[-1].take_head(line, FRONT_KEYS, _HEAD):
        right = "key: value (id, minutes, aim, needs), then the first step: ## Say: Title"
        raise InputError(where, f"'{line.text[:40]}' is not in a step", right)


def _title(where: str, text: str) -> str:
    found = _TITLE.match(text)
    if not found:
        raise InputError(where, f"'{text[:40]}' is before the title", "start with the title: # Title")
    return short(where, found[1], "title", LONGEST_TITLE)


def _step(source: str, line: Line) -> Section:
    where, found = f"{source}, line {line.number}", _STEP.match(line.text)
    kind = (found[1] or "").lower() if found else ""
    shape = "## Say: Title (or Show, Predict, Reveal, Explain, Quiz)"
    if found is None or not kind:
        raise InputError(where, f"'{line.text[:50]}' does not name a kind of step", f"write {shape}")
    if kind not in KINDS:
        raise InputError(where, f"there is no kind of step '{found[1][:30]}'", nearest_of(kind, list(KINDS)))
    if not found[2]:
        raise InputError(where, "the step has no title", f"write {shape}")
    return Section(source, line.number, kind, short(where, found[2], "title", LONGEST_TITLE))


def _take_below(part: Section, where: str, line: Line) -> None:
    if part.in_head:
        if not line.text:
            part.in_head = not part.head
            return
        if part.take_head(line, STEP_KEYS[part.kind], _HEAD):
            return
        part.in_head = False
    option = option_in(line) if part.kind == "predict" and not line.text.startswith(" ") else None
    if line.text.startswith(">"):
        part.notes.append(Line(line.number, line.text[1:].removeprefix(" ")))
    elif option:
        part.options.append(option)
    elif part.options and line.text.startswith("  "):
        part.options[-1].under.append(Line(line.number, line.text.strip()))
    elif part.options and line.text:
        right = "indent a reason by two spaces below its option; start notes with >"
        raise InputError(where, "unexpected text after the options", right)
    elif not part.options:
        _take_text(part, line)
    if not line.text and part.notes and part.notes[-1].text:
        part.notes.append(line)


def _take_text(part: Section, line: Line) -> None:
    fence = _FENCE.match(line.text)
    if fence:
        part.fence = "" if part.fence == fence[1] else part.fence or fence[1]
    part.body.append(line)
