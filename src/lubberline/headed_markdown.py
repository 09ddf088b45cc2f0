"""Markdown with a head: a heading, `key: value` lines below it, a text, and options with a box each.

Lessons and hand-written items are such files. What is wrong is said with file and line.
"""

import re
import unicodedata
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from lubberline.csvfile import lines_of, plain_number
from lubberline.errors import InputError, nearest_of

LONGEST_LINE = 2000
_OPTION = re.compile(r"\s*[-*+]\s+\[(.?)\]\s*(.*?)\s*$")


@dataclass(frozen=True)
class Line:
    """A line with its number in the file."""

    number: int
    text: str


@dataclass
class BoxedOption:
    """An option as it stands: its line, what is in its box, its text, and the lines set in below it."""

    line: int
    box: str
    text: str
    under: list[Line] = field(default_factory=list)

    @property
    def marked(self) -> bool:
        """Whether it is marked as the right one."""
        return self.box in ("x", "X")


@dataclass
class Section:
    """A heading with what stands below it: its head by key, its text, notes and options."""

    source: str
    line: int
    kind: str
    title: str
    head: dict[str, Line] = field(default_factory=dict)
    body: list[Line] = field(default_factory=list)
    notes: list[Line] = field(default_factory=list)
    options: list[BoxedOption] = field(default_factory=list)
    in_head: bool = True
    fence: str = ""

    def take_head(self, line: Line, allowed: Collection[str], shape: re.Pattern[str]) -> bool:
        """Take a line into the head; whether it has the shape of one: a key and a value.

        Raises:
            InputError: a key that is not allowed or there already, or without a value.
        """
        found = shape.match(line.text)
        if not found:
            return False
        where, key, value = f"{self.source}, line {line.number}", found[1].lower(), (found[2] or "").strip()
        if key not in allowed:
            raise InputError(where, f"unknown key '{key[:40]}'", nearest_of(key, list(allowed)))
        if key in self.head:
            wrong = f"'{key}' is there already (line {self.head[key].number})"
            raise InputError(where, wrong, "give it once")
        if not value:
            raise InputError(where, f"'{key}' has no value", "write it on this line")
        self.head[key] = Line(line.number, value)
        return True

    def where(self, key: str = "") -> str:
        """File and line of a key, or of the heading."""
        return f"{self.source}, line {self.head[key].number if key in self.head else self.line}"

    def has(self, key: str) -> bool:
        """Whether the key is given."""
        return key in self.head

    def text(self, key: str, default: str | None = None) -> str:
        """The value as it stands.

        Raises:
            InputError: when it is not given and has no default.
        """
        if key in self.head:
            return self.head[key].text
        if default is None:
            raise InputError(self.where(), f"'{key}' is missing", f"write {key}: ... below the heading")
        return default

    def number(
        self, key: str, low: float, high: float, default: float | None = None, right: str = ""
    ) -> float:
        """A number between two others; `right` says what it means, where the bounds alone do not.

        Raises:
            InputError: when it is none, or not given without a default.
        """
        if default is not None and key not in self.head:
            return default
        text = self.text(key)
        value = plain_number(text)
        if value is None or not low <= value <= high:
            right = right or f"a number from {low:g} to {high:g}"
            raise InputError(self.where(key), f"{key} '{text[:30]}'", right)
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
        if key not in self.head:
            return ()
        words = [word.strip() for word in self.text(key).split(",")]
        for word in words:
            if word not in allowed:
                right = nearest_of(word, list(allowed))
                raise InputError(self.where(key), f"there is nothing called '{word[:60]}'", right)
        if len(words) > most or len(set(words)) < len(words):
            raise InputError(self.where(key), f"{len(words)} in '{key}'", f"at most {most}, each once")
        return tuple(words)

    def marked_option(self, most: int) -> int:
        """The place of the right option among those of a question.

        Raises:
            InputError: too few or too many options, one that is empty or there already, a box that holds
                something else, not one that is marked.
        """
        if not 2 <= len(self.options) <= most:
            wrong = f"{len(self.options) or 'no'} option{'' if len(self.options) == 1 else 's'}"
            raise InputError(self.where(), wrong, f"write two to {most}, each as: - [ ] text")
        seen: dict[str, int] = {}
        for option in self.options:
            where = f"{self.source}, line {option.line}"
            if option.box not in ("", " ", "x", "X"):
                right = "[x] for the right one, [ ] for the others"
                raise InputError(where, f"the box holds '{option.box}'", right)
            short(where, option.text, "option")
            same = seen.setdefault(option.text.casefold(), option.line)
            if same != option.line:
                raise InputError(where, f"the option is that of line {same}", "write another")
        keys = [place for place, option in enumerate(self.options) if option.marked]
        if not keys:
            raise InputError(self.where(), "no option is marked as the key", "mark the right one: - [x] text")
        if len(keys) > 1:
            lines = " and ".join(str(self.options[place].line) for place in keys)
            where = f"{self.source}, line {self.options[keys[1]].line}"
            raise InputError(
                where, f"{len(keys)} options are marked as the key (lines {lines})", "mark one alone"
            )
        return keys[0]


def numbered_lines(source: str, text: str) -> Iterator[Line]:
    """The lines of a text, without what stands invisible at their ends.

    Raises:
        InputError: for a line that is too long, or holds characters that cannot be printed.
    """
    for number, raw in enumerate(lines_of(text), start=1):
        line = raw.expandtabs(4).rstrip()
        where = f"{source}, line {number}"
        if len(line) > LONGEST_LINE:
            raise InputError(where, f"{len(line)} letters in a line", f"at most {LONGEST_LINE}")
        for sign in line:
            if unicodedata.category(sign) in ("Cc", "Cs", "Co", "Cn"):
                raise InputError(where, f"a sign that cannot be printed (U+{ord(sign):04X})", "take it out")
        yield Line(number, line)


def option_in(line: Line) -> BoxedOption | None:
    """The option that a line begins, if it begins one."""
    found = _OPTION.match(line.text)
    return BoxedOption(line.number, found[1], found[2]) if found else None


def short(where: str, text: str, what: str, most: int = LONGEST_LINE) -> str:
    """A text that is not empty and not too long.

    Raises:
        InputError: when it is.
    """
    if not text:
        raise InputError(where, f"the {what} is empty", "write it on this line")
    if len(text) > most:
        raise InputError(where, f"the {what} has {len(text)} letters", f"at most {most}")
    return text
