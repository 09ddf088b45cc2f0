"""Papers made in memory from what the page asks for, and the files that can be taken from them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from typing import NamedTuple

from lubberline.errors import InputError
from lubberline.publish.papers.files import contents
from lubberline.publish.papers.qti import zipped
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.handwritten import items_from_text
from lubberline.questions.item import Item
from lubberline.questions.papers import Paper, assemble
from lubberline.web.catalogue import Choice, chosen, demo_papers
from lubberline.web.questions.asked import OWN, TEXT_LIMIT_BYTES, PaperAsked, few_forms

# Only these may be given to a candidate: nothing in them tells an answer.
FOR_CANDIDATES = re.compile(r"(paper|answer_sheet)_[A-Za-z0-9]{1,8}(_large_print)?\.pdf|worksheet\.pdf")
ITEMS = "items by hand"
ALL, CANDIDATES = "all.zip", "candidates.zip"
KINDS = {"pdf": "application/pdf", "zip": "application/zip", "csv": "text/csv; charset=utf-8"}

# What each row of the page's table is called, and the name of its file for a form.
PER_FORM: dict[str, tuple[tuple[str, str], ...]] = {
    "candidates": (
        ("Paper", "paper_{form}.pdf"),
        ("Answer sheet", "answer_sheet_{form}.pdf"),
        ("Paper, large print", "paper_{form}_large_print.pdf"),
        ("Sheet, large print", "answer_sheet_{form}_large_print.pdf"),
    ),
    "instructor": (
        ("Key", "key_{form}.pdf"),
        ("QTI 3.0", "qti30_{form}.zip"),
        ("QTI 2.1", "qti21_{form}.zip"),
    ),
}
FOR_ALL: dict[str, tuple[tuple[str, str], ...]] = {
    "candidates": (("Worksheet, blank dials", "worksheet.pdf"), ("All for candidates, zip", CANDIDATES)),
    "instructor": (
        ("Worksheet, solved", "worksheet_solved.pdf"),
        ("Table of all items, CSV", "items.csv"),
        ("Everything, zip", ALL),
    ),
}


class MadeFile(NamedTuple):
    """A file to download."""

    name: str
    media_type: str
    data: bytes


@cache
def shelf() -> tuple[Choice, ...]:
    """The blueprints of the demo."""
    return demo_papers()


def text_of(asked: PaperAsked) -> tuple[str, str]:
    """Name and text of the blueprint that is asked for.

    Raises:
        InputError: no such name in the list, or a text that is empty or too long.
    """
    if asked.blueprint != OWN:
        choice = chosen("blueprint", asked.blueprint, shelf())
        return choice.path.name, choice.path.read_text(encoding="utf-8")
    if not asked.text.strip():
        raise InputError("blueprint", "the text is empty", "write one, or choose one of the list")
    if len(asked.text.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError("blueprint", "too large for a blueprint", "give one under 200 kB")
    return "blueprint", asked.text


def own_items(asked: PaperAsked) -> list[Item]:
    """The items by hand that come with what is asked for.

    Raises:
        InputError: what is wrong with their text, with its line.
    """
    if not asked.items.strip():
        return []
    if len(asked.items.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError(ITEMS, "too large for a file of items", "give one under 200 kB")
    return [record.item for record in items_from_text(ITEMS, asked.items)]


def papers_of(asked: PaperAsked) -> tuple[Paper, ...]:
    """The papers that are asked for.

    Raises:
        InputError: what is wrong with the blueprint, the items by hand, the forms or the jurisdiction.
    """
    source, text = text_of(asked)
    blueprint = blueprint_from_text(source, text, asked.jurisdiction or None)
    if not asked.forms:
        few_forms(blueprint.forms)
    return assemble(blueprint, asked.seed, asked.forms, own=own_items(asked))


def shown_of(papers: Sequence[Paper], letter: str) -> Paper:
    """The form of that letter, the first when there is none."""
    return next((paper for paper in papers if paper.form == letter), papers[0])


def _stem(asked: PaperAsked) -> str:
    return asked.blueprint if asked.blueprint not in ("", OWN) else "papers"


def file_of(asked: PaperAsked, name: str) -> MadeFile:
    """One file of the papers that are asked for, made in memory.

    Raises:
        InputError: no such file, or anything wrong with what is asked for.
    """
    makers = contents(papers_of(asked), large_print=True, worksheet=True)
    if name in (ALL, CANDIDATES):
        data = zipped({path: make() for path, make in _in_folders(makers, name).items()})
        return MadeFile(f"{_stem(asked)}_{name}", KINDS["zip"], data)
    if name not in makers:
        raise InputError("file", f"these papers have no '{name[:60]}'", "take one of those on the page")
    return MadeFile(name, KINDS[name.rpartition(".")[2]], makers[name]())


def _in_folders(makers: dict[str, Callable[[], bytes]], name: str) -> dict[str, Callable[[], bytes]]:
    """All files in two folders, or those for candidates alone."""
    given = {file: make for file, make in makers.items() if FOR_CANDIDATES.fullmatch(file)}
    if name == CANDIDATES:
        return given
    kept = {f"instructor/{file}": make for file, make in makers.items() if file not in given}
    return {**{f"candidates/{file}": make for file, make in given.items()}, **kept}
