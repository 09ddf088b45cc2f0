"""What the Questions pages are asked for, from an address or from the form that was sent."""

from __future__ import annotations

import re
from collections.abc import Mapping
from urllib.parse import urlencode

import msgspec
from starlette.requests import Request

from lubberline.errors import InputError
from lubberline.web.forms import read_form

TEXT_LIMIT_BYTES = 200_000
MOST_FORMS = 6
GREATEST_SEED = 2**31 - 1
OWN = "own"
LONGEST_LETTERS = 40

Fields = Mapping[str, str]


class PaperAsked(msgspec.Struct, frozen=True, kw_only=True):
    """One set of papers as the page asks for it.

    Attributes:
        blueprint: name of a blueprint of the list, `OWN` for the text; '' for the first of the list.
        text: the blueprint's own text, read when `blueprint` is `OWN`.
        items: items written by hand, in Markdown, that belong to the papers; '' for none.
        seed: decides every draw.
        forms: letters of the forms; none: as the blueprint says.
        jurisdiction: whose rules; '' as the blueprint says.
        show: letter of the form on the page; '' for the first.
        key: whether the key is shown.
    """

    blueprint: str = ""
    text: str = ""
    items: str = ""
    seed: int = 1
    forms: tuple[str, ...] = ()
    jurisdiction: str = ""
    show: str = ""
    key: bool = False

    def address(self) -> str:
        """The address that brings these papers back; texts of one's own have none."""
        pairs = [("blueprint", self.blueprint), ("seed", str(self.seed)), ("forms", ",".join(self.forms))]
        pairs += [("jurisdiction", self.jurisdiction), ("show", self.show), ("key", "1" if self.key else "")]
        return "/questions/paper?" + urlencode([pair for pair in pairs if pair[1]], safe=",")


def whole_seed(text: str) -> int:
    """A seed from its text; 1 for an empty one.

    Raises:
        InputError: not a whole number that the makers take.
    """
    text = text.strip() or "1"
    if not re.fullmatch(r"[0-9]{1,10}", text) or int(text) > GREATEST_SEED:
        raise InputError("seed", f"'{text[:30]}' is no seed", f"a whole number from 0 to {GREATEST_SEED}")
    return int(text)


def next_seed(seed: int) -> int:
    """Another seed, for new numbers."""
    return (seed + 1) % (GREATEST_SEED + 1)


def form_letters(text: str) -> tuple[str, ...]:
    """Letters of forms as people write them: 'A, B' or 'A B'.

    Raises:
        InputError: more than the page makes at once.
    """
    letters = tuple(part[:LONGEST_LETTERS] for part in re.split(r"[,;\s]+", text.strip()) if part)
    return few_forms(letters)


def few_forms(letters: tuple[str, ...]) -> tuple[str, ...]:
    """The same letters.

    Raises:
        InputError: more than the page makes at once.
    """
    if len(letters) > MOST_FORMS:
        raise InputError("forms", f"{len(letters)} forms", f"at most {MOST_FORMS} at once on this page")
    return letters


def paper_asked(fields: Fields) -> PaperAsked:
    """The papers that the fields of an address or a form ask for.

    Raises:
        InputError: a seed or forms that cannot be.
    """
    return PaperAsked(
        blueprint=fields.get("blueprint", ""),
        # A form sends its lines with two characters at their ends.
        text=fields.get("text", "").replace("\r\n", "\n"),
        items=fields.get("items", "").replace("\r\n", "\n"),
        seed=whole_seed(fields.get("seed", "")),
        forms=form_letters(fields.get("forms", "")),
        jurisdiction=fields.get("jurisdiction", ""),
        show=fields.get("show", ""),
        key=fields.get("key", "") == "1",
    )


async def sent_fields(request: Request, most_fields: int = 40) -> Fields:
    """The fields of a form that was sent; the last of each name counts.

    Args:
        request: with the form.
        most_fields: how many fields it may have.

    Raises:
        Refused: too large, or of another kind than a page's own form sends.
    """
    return await read_form(request, most_fields)
