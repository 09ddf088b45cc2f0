"""A school's own words for what its class reads: names of parts, statements of wrong ideas, and terms.

[parts]
card = "compass rose"

[ideas]
no-earth-wander = "The Earth does not come into it."

[terms]
tumble = "topple"
"""

from contextlib import suppress
from pathlib import Path
from typing import Any

import msgspec

from lubberline.errors import FieldError, InputError, check_known, within
from lubberline.simulation.live.parts import PARTS
from lubberline.simulation.misconceptions import BY_ID
from lubberline.simulation.misconceptions.idea import Speech
from lubberline.textfile import text_of, toml_of
from lubberline.toml_lines import line_of
from lubberline.typed_fields import typed

LONGEST_NAME = 40
LONGEST_STATEMENT = 300


class Words(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Own words by what they stand for.

    Attributes:
        parts: names, by the ids of parts.
        ideas: statements, by the ids of wrong ideas.
        terms: the school's, by the program's as its sentences have them.
    """

    parts: dict[str, str] = {}
    ideas: dict[str, str] = {}
    terms: dict[str, str] = {}

    def named_parts(self) -> dict[str, str]:
        """All parts by their ids, with own names where there are some."""
        return {**PARTS, **self.parts}

    def with_words(self, other: "Words") -> "Words":
        """These words, and those of another file for what these do not name."""
        return Words(
            {**other.parts, **self.parts}, {**other.ideas, **self.ideas}, {**other.terms, **self.terms}
        )

    @property
    def speech(self) -> Speech:
        """How the school says things."""
        return Speech(self.ideas, self.terms, self.parts)


class _Written(msgspec.Struct, forbid_unknown_fields=True):
    parts: dict[str, Any] = {}
    ideas: dict[str, Any] = {}
    terms: dict[str, Any] = {}


def words_from_text(source: str, text: str) -> Words:
    """Own words from the text of their file.

    Raises:
        InputError: naming `source` and line: something that does not exist, or a wording that is empty or
            too long.
    """
    try:
        found = typed(source, toml_of(source, text), _Written, "write tables [parts], [ideas], [terms]")
        for table, terms, known, most in (
            ("part", found.parts, PARTS, LONGEST_NAME),
            ("idea", found.ideas, BY_ID, LONGEST_STATEMENT),
            ("term", found.terms, None, LONGEST_NAME),
        ):
            for term, wording in terms.items():
                with within(f"{table}s", term):
                    if known is not None:
                        check_known(f"{source}, {table}s", table, term, known)
                    elif not 3 <= len(term) <= LONGEST_NAME:
                        right = f"write a term of the program of 3 to {LONGEST_NAME} characters"
                        raise InputError(f"{source}, terms", f"'{term[:40]}' is not a term", right)
                    _check_wording(f"{source}, {table}s.{term}", wording, most)
    except FieldError as error:
        where = f"{source}, line {line_of(text, error.path)}{error.where.removeprefix(source)}"
        raise InputError(where, error.wrong, error.right) from None
    return Words(found.parts, found.ideas, found.terms)


def words_of_folder(folder: Path) -> Words:
    """The words of all files in a folder, the first before the others; one with an error gives none."""
    found = Words()
    for path in sorted(folder.glob("*.toml")):
        with suppress(InputError):
            found = found.with_words(words_from_text(path.name, text_of(path, "a file of words (TOML)")))
    return found


def _check_wording(where: str, wording: object, most: int) -> None:
    if not isinstance(wording, str) or not 1 <= len(wording) <= most:
        wrong = f"{wording!s:.40} is not a wording of 1 to {most} characters"
        raise InputError(where, wrong, "write it in quotes")
