"""Items that an instructor writes by hand, in a Markdown file, and back into one.

`read_items(path)` and `items_from_text(name, text)` give `Written` records: `.title`, `.item` (an `Item`
like any other) and `.line` in the file. `written(records)` gives the text of a file again. Anything that
is not right is an `InputError` that names file and line; nothing is guessed.

    # What turns the card

    topic: wander
    level: recall
    codes: HI 3.1, HI 3.2
    source: FAA-H-8083-15B, chapter 5

    Why does a perfect gyro not keep its heading?

    - [x] The Earth turns below it.
      The gyro stays where it was; the meridian turns.
    - [ ] Its bearings wear.
      A perfect gyro has no friction.
      idea: drift-means-bearings
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from lubberline.errors import InputError, near_to, nearest_of
from lubberline.questions.bank import LEVELS, TOPICS, jurisdictions
from lubberline.questions.item import Item, Level, Option, prior_difficulty
from lubberline.questions.slips import SLIPS, mend_of
from lubberline.simulation.misconceptions import BY_ID
from lubberline.textfile import text_of

HEAD_KEYS = ("topic", "level", "codes", "source", "difficulty", "jurisdiction")
LONGEST_TEXT, LONGEST_TITLE = 2000, 100
TITLE = re.compile(r"#+(?:\s+(.*))?$")
OPTION = re.compile(r"[-*+]\s+\[(.?)\](.*)$")
BULLET = re.compile(r"[-*+]\s")
HEAD = re.compile(r"([A-Za-z]+)\s*:(.*)$")
IDEA = re.compile(r"idea\s*:(.*)$", re.IGNORECASE)
# Signs that nobody sees and that come with text pasted from elsewhere.
UNSEEN = dict.fromkeys((0x00AD, 0x200B, 0x2060, 0xFEFF))


@dataclass
class Choice:
    """An option as it stands in the file."""

    line: int
    key: bool
    text: str
    reason: list[str] = field(default_factory=list)
    idea: str = ""


@dataclass
class Draft:
    """An item as it stands in the file: the head's values with their lines, the stem by paragraphs."""

    title: str
    line: int
    head: dict[str, tuple[str, int]] = field(default_factory=dict)
    in_head: bool = True
    stem: list[list[str]] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)


def _check_signs(where: str, line: str) -> None:
    for sign in line:
        if unicodedata.category(sign) in ("Cc", "Cs", "Co", "Cn"):
            raise InputError(where, f"a sign that cannot be printed (U+{ord(sign):04X})", "take it out")


def _take(drafts: list[Draft], where: str, number: int, line: str) -> None:
    """Give a line to the item that it belongs to."""
    bare = " ".join(line.split())
    under = bool(drafts and drafts[-1].choices) and line.startswith("  ") and not OPTION.match(bare)
    title = None if under else TITLE.match(bare)
    if title:
        drafts.append(Draft(short(where, title[1] or "", "title", LONGEST_TITLE), number))
    elif not drafts:
        if bare:
            raise InputError(where, "text before the first title", "begin each item with its title: # Title")
    elif under:
        _take_under(drafts[-1].choices[-1], where, bare)
    elif drafts[-1].in_head:
        _take_head(drafts[-1], where, number, bare)
    else:
        _take_body(drafts[-1], where, number, bare)


def _take_head(draft: Draft, where: str, number: int, bare: str) -> None:
    if not bare:
        draft.in_head = not draft.head
        return
    found = HEAD.match(bare)
    if not found:
        raise InputError(
            where,
            f"'{bare[:40]}' is no line of a head",
            "write key: value, and an empty line before the stem",
        )
    key, value = found[1].lower(), found[2].strip()
    if key not in HEAD_KEYS:
        raise InputError(where, f"unknown key '{key[:40]}'", nearest_of(key, list(HEAD_KEYS)))
    if key in draft.head:
        raise InputError(where, f"'{key}' is there already", "give it once")
    draft.head[key] = (short(where, value, key), number)


def _take_body(draft: Draft, where: str, number: int, bare: str) -> None:
    option = OPTION.match(bare)
    if option:
        if option[1] not in ("", " ", "x", "X"):
            raise InputError(where, f"the box holds '{option[1]}'", "[x] for the key, [ ] for the others")
        text = short(where, option[2].strip(), "option")
        draft.choices.append(Choice(number, option[1] in ("x", "X"), text))
    elif BULLET.match(f"{bare} "):
        raise InputError(where, "a list entry without a box", "- [x] for the key, - [ ] for the others")
    elif draft.choices:
        if bare:
            raise InputError(
                where,
                "text after an option that belongs to nothing",
                "set a reason two spaces in under its option; begin a new item with # Title",
            )
    elif bare:
        if not draft.stem:
            draft.stem.append([])
        draft.stem[-1].append(bare)
    elif draft.stem and draft.stem[-1]:
        draft.stem.append([])


def _take_under(choice: Choice, where: str, bare: str) -> None:
    """A line of an option's reason, or its wrong idea."""
    idea = IDEA.match(bare)
    if not idea:
        choice.reason += [bare] if bare else []
        return
    name = idea[1].strip()
    if choice.idea:
        raise InputError(where, "a second idea for one option", "give one")
    if name not in BY_ID and name not in SLIPS:
        wrong = f"there is no wrong idea '{name[:60]}'"
        near = near_to(name, [*BY_ID, *SLIPS])
        raise InputError(where, wrong, near or "see docs/misconceptions.md")
    choice.idea = name


def short(where: str, text: str, what: str, most: int = LONGEST_TEXT) -> str:
    """A text that is not empty and not too long.

    Raises:
        InputError: when it is.
    """
    if not text:
        raise InputError(where, f"the {what} is empty", "write it on this line")
    if len(text) > most:
        raise InputError(where, f"the {what} has {len(text)} letters", f"at most {most}")
    return text


def drafts_of(source: str, text: str) -> list[Draft]:
    """The items of a text, each with its parts and their lines; not yet held against the bank.

    Raises:
        InputError: naming source and line, for what is no part of an item.
    """
    drafts: list[Draft] = []
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        line = line.translate(UNSEEN).expandtabs(4)
        where = f"{source}, line {number}"
        _check_signs(where, line)
        _take(drafts, where, number, line)
    return drafts


PREFIX = "hand-"
NO_SOURCE = "written by hand, no source given"
MOST_OPTIONS, MOST_ITEMS = 8, 300
# Steps of thought, for the prior difficulty where the instructor gives none.
STEPS = {"recall": 1, "apply": 2, "judge": 3}


class HandwrittenItem(msgspec.Struct, frozen=True):
    """An item written by hand.

    Attributes:
        title: its heading, from which its id is made; not printed on a paper.
        item: the question; its `model` is 'hand-' and the title in small letters, its `drawn` is empty.
        line: of the heading in its file, from 1.
    """

    title: str
    item: Item
    line: int = 0


def is_handwritten(item: Item) -> bool:
    """Whether an item was written by hand, not made by a model."""
    return item.model.startswith(PREFIX)


def read_items(path: str | Path) -> tuple[HandwrittenItem, ...]:
    """The items of a Markdown file.

    Raises:
        InputError: when it cannot be read or an item is not right; names file and line.
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
    drafts = drafts_of(source, text)
    if not drafts:
        raise InputError(source, "there is no item in it", "begin each item with its title: # Title")
    if len(drafts) > MOST_ITEMS:
        raise InputError(source, f"{len(drafts)} items", f"at most {MOST_ITEMS} a file")
    seen: dict[str, int] = {}
    found = []
    for draft in drafts:
        made = _finished(source, draft)
        if made.item.model in seen:
            raise InputError(
                f"{source}, line {draft.line}",
                f"the title is that of line {seen[made.item.model]}",
                "give each item a title of its own",
            )
        seen[made.item.model] = draft.line
        found.append(made)
    return tuple(found)


def _finished(source: str, draft: Draft) -> HandwrittenItem:
    where = f"{source}, line {draft.line}"
    stem = "\n\n".join(" ".join(lines) for lines in draft.stem if lines)
    topic = _one_of(source, draft, "topic", list(TOPICS))
    level = _one_of(source, draft, "level", list(LEVELS))
    short(where, stem, "stem")
    options, key = _options(source, draft)
    is_statement = [option.text for option in options] == ["True", "False"]
    codes = draft.head.get("codes", ("", 0))[0].split(",")
    jurisdiction = (
        _one_of(source, draft, "jurisdiction", jurisdictions()) if "jurisdiction" in draft.head else ""
    )
    item = Item(
        model=model_of(where, draft.title),
        topic=topic,
        level=_LEVEL[level],
        kind="statement" if is_statement else "choice",
        stem=stem,
        options=options,
        key=key,
        reason=options[key].feedback,
        source=draft.head.get("source", (NO_SOURCE, 0))[0],
        drawn={},
        difficulty=_difficulty(source, draft, level, len(options)),
        jurisdiction=jurisdiction,
        codes=tuple(code.strip() for code in codes if code.strip()),
    )
    return HandwrittenItem(draft.title, item, draft.line)


_LEVEL: dict[str, Level] = {level: level for level in LEVELS}


def model_of(where: str, title: str) -> str:
    """The name by which an item with this title is known.

    Raises:
        InputError: for a title without a letter or figure.
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if not slug:
        raise InputError(where, f"the title '{title[:40]}' has no letter from a to z", "write one that has")
    return f"{PREFIX}{slug}"


def _one_of(source: str, draft: Draft, key: str, allowed: list[str]) -> str:
    if key not in draft.head:
        raise InputError(
            f"{source}, line {draft.line}",
            f"the head gives no {key}",
            f"write {key}: {allowed[0]} below the title",
        )
    value, line = draft.head[key]
    if value not in allowed:
        raise InputError(
            f"{source}, line {line}", f"there is no {key} '{value[:60]}'", nearest_of(value, allowed)
        )
    return value


def _difficulty(source: str, draft: Draft, level: str, options: int) -> float:
    if "difficulty" not in draft.head:
        return _prior(level, options)
    text, line = draft.head["difficulty"]
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0.0 <= value <= 1.0:
        where = f"{source}, line {line}"
        raise InputError(where, f"difficulty {text[:40]}", "from 0 (everybody is right) to 1 (nobody)")
    return value


def _prior(level: str, options: int) -> float:
    return prior_difficulty(STEPS[level], 0, options - 1)


def _options(source: str, draft: Draft) -> tuple[tuple[Option, ...], int]:
    """The options and the place of the key."""
    where, choices = f"{source}, line {draft.line}", draft.choices
    if not 2 <= len(choices) <= MOST_OPTIONS:
        count = len(choices) or "no"
        wrong = f"{count} option{'' if len(choices) == 1 else 's'}"
        raise InputError(where, wrong, f"write two to {MOST_OPTIONS}, each as: - [ ] text")
    keys = [place for place, choice in enumerate(choices) if choice.key]
    if not keys:
        raise InputError(where, "no option is marked as the key", "mark the right one: - [x] text")
    if len(keys) > 1:
        lines = " and ".join(str(choices[place].line) for place in keys)
        raise InputError(
            f"{source}, line {choices[keys[1]].line}",
            f"{len(keys)} options are marked as the key (lines {lines})",
            "mark one alone",
        )
    seen: dict[str, int] = {}
    for choice in choices:
        same = seen.setdefault(choice.text.casefold(), choice.line)
        if same != choice.line:
            raise InputError(
                f"{source}, line {choice.line}", f"the option is that of line {same}", "write another"
            )
    return tuple(_option(source, choice) for choice in choices), keys[0]


def _option(source: str, choice: Choice) -> Option:
    where, reason = f"{source}, line {choice.line}", " ".join(choice.reason)
    if choice.key and choice.idea:
        raise InputError(where, "the key has a wrong idea", "give an idea to wrong options alone")
    if not reason and choice.idea:
        reason = mend_of(choice.idea)
    if not reason:
        more = "" if choice.key else ", or name the wrong idea: idea: ID"
        raise InputError(where, "no reason under this option", f"write it below, two spaces in{more}")
    return Option(choice.text, choice.idea, short(where, reason, "reason"))


def written(records: Iterable[HandwrittenItem]) -> str:
    """The text of a file with these items; read again it gives the same titles and items."""
    return "\n".join(_item_text(record) for record in records)


def _item_text(record: HandwrittenItem) -> str:
    item = record.item
    head = [f"topic: {item.topic}", f"level: {item.level}"]
    head += [f"codes: {', '.join(item.codes)}"] if item.codes else []
    head += [f"source: {item.source}"] if item.source != NO_SOURCE else []
    head += [f"jurisdiction: {item.jurisdiction}"] if item.jurisdiction else []
    if item.difficulty != _prior(item.level, len(item.options)):
        head.append(f"difficulty: {item.difficulty!r}")
    lines = [f"# {record.title}", "", *head, "", item.stem, "", *_option_lines(item)]
    return "\n".join(lines) + "\n"


def _option_lines(item: Item) -> Sequence[str]:
    lines = []
    for place, option in enumerate(item.options):
        lines += [f"- [{'x' if place == item.key else ' '}] {option.text}", f"  {option.feedback}"]
        lines += [f"  idea: {option.misconception}"] if option.misconception else []
    return lines
