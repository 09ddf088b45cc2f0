"""A file of items written by hand, taken apart by lines; `handwritten` makes items of the parts."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

from lubberline.errors import InputError, near_to, nearest_of
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID

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
