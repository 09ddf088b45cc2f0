"""Items written by hand in a Markdown file, read and written.

`read_items(path)` and `items_from_text(name, text)` give `HandwrittenItem` records: `.title`, `.item` (an
`Item` like any other) and `.line` in the file. `written(records)` gives the text of a file again. Anything
that is not valid raises an `InputError` that names file and line; nothing is guessed.

    # What turns the card

    topic: wander
    level: recall
    codes: HI 3.1, HI 3.2
    source: FAA-H-8083-15B, chapter 5

    Why does the card of a perfect gyro drift?

    - [x] The Earth rotates under it.
      The gyro keeps its direction in space; the meridian turns.
    - [ ] Its bearings wear.
      A perfect gyro has no friction.
      idea: drift-means-bearings
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from contextlib import suppress
from itertools import groupby
from pathlib import Path
from typing import cast

import msgspec
from msgspec.structs import replace

from lubberline.errors import Faults, InputError, near_to
from lubberline.flight.home import Home
from lubberline.headed_markdown import BoxedOption, Line, Section, numbered_lines, option_in, short
from lubberline.questions.bank import LEVELS, TOPICS, jurisdictions
from lubberline.questions.generate import measured_at
from lubberline.questions.item import LETTERS, STEPS, Item, Level, Option, prior_difficulty
from lubberline.questions.slips import SLIPS, mend_of, said_in
from lubberline.simulation.misconceptions import BY_ID
from lubberline.textfile import text_of

PREFIX = "hand-"
NO_SOURCE = "written by hand, no source given"
MOST_ITEMS = 300
HEAD_KEYS = ("topic", "level", "codes", "source", "difficulty", "jurisdiction")
LONGEST_TITLE = 100
_TITLE = re.compile(r"#+(?:\s+(.*))?$")
_BULLET = re.compile(r"[-*+]\s")
_HEAD = re.compile(r"([A-Za-z]+)\s*:(.*)$")
_IDEA = re.compile(r"idea\s*:(.*)$", re.IGNORECASE)
# Invisible characters that come with pasted text.
_UNSEEN = dict.fromkeys((0x00AD, 0x200B, 0x2060, 0xFEFF))


class HandwrittenItem(msgspec.Struct, frozen=True):
    """An item written by hand.

    Attributes:
        title: its heading, which gives its id; not printed on a paper.
        item: the question; its `model` is 'hand-' and the title in lower case, its `drawn` is empty.
        line: of the heading in its file, from 1.
    """

    title: str
    item: Item
    line: int = 0


def is_handwritten(item: Item) -> bool:
    """Whether an item was written by hand and not made by a model."""
    return item.model.startswith(PREFIX)


def said_at(home: Home | None, item: Item) -> Item:
    """An item written by hand as it is asked at home: in its unit, with the corrections of its hemisphere.

    One that speaks of a hemisphere itself keeps its corrections.
    """
    if home is None or not is_handwritten(item):
        return item
    item = measured_at(home, item)
    if home.side > 0 or "hemisphere" in item.stem.lower():
        return item
    said = [replace(one, feedback=said_in(one.feedback, southern=True)) for one in item.options]
    return replace(item, options=tuple(said))


def read_items(path: str | Path) -> tuple[HandwrittenItem, ...]:
    """The items of a Markdown file.

    Raises:
        InputError: if it cannot be read or an item is not valid; names file and line.
    """
    return items_from_text(Path(path).name, text_of(path, "a file of items (Markdown)"))


def items_from_text(source: str, text: str) -> tuple[HandwrittenItem, ...]:
    """The items of a text.

    Args:
        source: the file's name, for messages.
        text: of the file.

    Raises:
        InputError: naming source and line.
    """
    sections, faults = list[Section](), Faults()
    for line in numbered_lines(source, text.translate(_UNSEEN)):
        with faults.noted():
            _take(sections, source, line)
    if not sections and not faults.found:
        raise InputError(source, "there are no items in it", "begin each item with its title: # Title")
    if len(sections) > MOST_ITEMS:
        raise InputError(source, f"{len(sections)} items", f"give at most {MOST_ITEMS} in one file")
    seen: dict[str, int] = {}
    found = []
    for section in sections:
        with faults.noted():
            item = _item(section)
            same = seen.setdefault(item.model, section.line)
            if same != section.line:
                right = "give each item a different title"
                raise InputError(section.where(), f"the title is the same as in line {same}", right)
            found.append(HandwrittenItem(section.title, item, section.line))
    faults.tell()
    return tuple(found)


def items_of_folder(folder: Path) -> dict[str, HandwrittenItem]:
    """The items of all files in a folder, by their models; a file with an error gives none."""
    found: dict[str, HandwrittenItem] = {}
    for path in sorted(folder.glob("*.md")):
        with suppress(InputError):
            for record in read_items(path):
                found.setdefault(record.item.model, record)
    return found


def _take(sections: list[Section], source: str, line: Line) -> None:
    """Add a line to the item that it belongs to."""
    where, here = f"{source}, line {line.number}", sections[-1] if sections else None
    bare = Line(line.number, " ".join(line.text.split()))
    option = option_in(bare)
    under = here is not None and bool(here.options) and line.text.startswith("  ") and option is None
    title = None if under else _TITLE.match(bare.text)
    if title:
        sections.append(
            Section(source, line.number, "", short(where, title[1] or "", "title", LONGEST_TITLE))
        )
    elif here is None:
        if bare.text:
            raise InputError(where, "text before the first title", "begin each item with its title: # Title")
    elif under:
        here.options[-1].under.append(bare)
    elif here.in_head:
        if not bare.text:
            here.in_head = not here.head
        elif not here.take_head(bare, HEAD_KEYS, _HEAD):
            right = "write key: value, and leave an empty line before the stem"
            raise InputError(where, f"'{bare.text[:40]}' is not a line of the head", right)
    elif option:
        here.options.append(option)
    elif _BULLET.match(f"{bare.text} "):
        raise InputError(
            where, "a list entry without a box", "write - [x] for the key and - [ ] for the others"
        )
    elif here.options and bare.text:
        right = "indent a reason by two spaces under its option, or begin a new item with # Title"
        raise InputError(where, "text after the options that does not belong to any of them", right)
    else:
        here.body.append(bare)


def _item(section: Section) -> Item:
    stem = "\n\n".join(
        " ".join(line.text for line in lines)
        for blank, lines in groupby(section.body, key=lambda line: not line.text)
        if not blank
    )
    topic, level = section.one_of("topic", TOPICS), cast(Level, section.one_of("level", LEVELS))
    short(section.where(), stem, "stem")
    key = section.marked_option(len(LETTERS))
    options = tuple(_option(section, boxed) for boxed in section.options)
    codes = section.text("codes", "").split(",")
    difficulty, right = _prior(level, len(options)), "give a number from 0 (everybody is right) to 1 (nobody)"
    return Item(
        model=model_of(section.where(), section.title),
        topic=topic,
        level=level,
        kind="statement" if [option.text for option in options] == ["True", "False"] else "choice",
        stem=stem,
        options=options,
        key=key,
        reason=options[key].feedback,
        source=section.text("source", NO_SOURCE),
        drawn={},
        difficulty=section.number("difficulty", 0.0, 1.0, difficulty, right),
        jurisdiction=section.one_of("jurisdiction", jurisdictions()) if section.has("jurisdiction") else "",
        codes=tuple(code.strip() for code in codes if code.strip()),
    )


def model_of(where: str, title: str) -> str:
    """The id of an item with this title.

    Raises:
        InputError: for a title without letters or figures.
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if not slug:
        raise InputError(
            where, f"the title '{title[:40]}' has no letter from a to z", "give a title with letters"
        )
    return f"{PREFIX}{slug}"


def _prior(level: Level, options: int) -> float:
    return prior_difficulty(STEPS[level], 0, options - 1)


def _option(section: Section, boxed: BoxedOption) -> Option:
    """An option with its reason and its wrong idea, which are below it."""
    where, idea, reasons = f"{section.source}, line {boxed.line}", "", []
    for line in boxed.under:
        named = _IDEA.match(line.text)
        if not named:
            reasons += [line.text] if line.text else []
            continue
        here, name = f"{section.source}, line {line.number}", named[1].strip()
        if idea:
            raise InputError(here, "there is a second idea for one option", "give one")
        if name not in BY_ID and name not in SLIPS:
            right = near_to(name, [*BY_ID, *SLIPS]) or "see docs/methods/misconceptions.md"
            raise InputError(here, f"there is no wrong idea '{name[:60]}'", right)
        idea = name
    if boxed.marked and idea:
        raise InputError(where, "the key has a wrong idea", "give ideas for wrong options only")
    reason = " ".join(reasons) or (mend_of(idea) if idea else "")
    if not reason:
        more = "" if boxed.marked else ", or give the wrong idea: idea: ID"
        raise InputError(
            where, "there is no reason under this option", f"write it below, indented by two spaces{more}"
        )
    return Option(boxed.text, idea, short(where, reason, "reason"))


def written(records: Iterable[HandwrittenItem]) -> str:
    """The text of a file with these items; reading it gives the same titles and items."""
    return "\n".join(_item_text(record) for record in records)


def _item_text(record: HandwrittenItem) -> str:
    item = record.item
    is_own = item.difficulty != _prior(item.level, len(item.options))
    head = (
        f"topic: {item.topic}",
        f"level: {item.level}",
        f"codes: {', '.join(item.codes)}" if item.codes else "",
        f"source: {item.source}" if item.source != NO_SOURCE else "",
        f"jurisdiction: {item.jurisdiction}" if item.jurisdiction else "",
        f"difficulty: {item.difficulty!r}" if is_own else "",
    )
    lines = [f"# {record.title}", "", *filter(None, head), "", item.stem, "", *_option_lines(item)]
    return "\n".join(lines) + "\n"


def _option_lines(item: Item) -> Sequence[str]:
    lines = []
    for place, option in enumerate(item.options):
        lines += [f"- [{'x' if place == item.key else ' '}] {option.text}", f"  {option.feedback}"]
        lines += [f"  idea: {option.misconception}"] if option.misconception else []
    return lines
