"""A question paper as PDF: the paper itself, in ordinary and in large print, and its answer sheet.

Nothing here holds the key, the names of wrong ideas or anything else that an answer could be read from;
`key.py` sets what is for the instructor.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lubberline.publish.answers import LETTERS, paragraphs, unit_words
from lubberline.publish.drawings import WIDEST_UPRIGHT, shape_of
from lubberline.publish.pdf import pdf
from lubberline.publish.words import many
from lubberline.questions.item import Item
from lubberline.questions.papers import Paper
from lubberline.simulation import CAUTIONS

# Points of body text.
ORDINARY, LARGE = 10.5, 18.0
# With options no longer than this, an upright drawing stands beside them.
LONGEST_BESIDE = {ORDINARY: 44, LARGE: 22}
# Without a drawing, a question of fewer letters than this is surely not higher than a page.
PERHAPS_HIGH = 500


def pictures(paper: Paper) -> dict[str, str]:
    """The drawings of a paper by the names that its data give them."""
    return {
        f"figure-{number}": item.figure.svg
        for number, item in enumerate(paper.items, start=1)
        if item.figure is not None
    }


def _item(number: int, item: Item, size: float) -> dict[str, Any]:
    data: dict[str, Any] = {
        "number": number,
        "stem": paragraphs(item.stem),
        "options": [option.text for option in item.options],
        "unit": unit_words(item.unit) if item.kind == "number" else "",
    }
    letters = len(item.stem) + sum(len(option.text) for option in item.options)
    data["high"] = item.figure is not None or letters > PERHAPS_HIGH
    if item.figure is not None:
        longest = max((len(option.text) for option in item.options), default=0)
        shape = shape_of(item.figure, f"question {number} ({item.model})")
        beside = shape <= WIDEST_UPRIGHT and longest <= LONGEST_BESIDE[size]
        data["figure"] = {"name": f"figure-{number}", "alt": item.figure.alt, "beside": beside}
        data["figure"]["shape"] = round(shape, 3)
    return data


def instructions(items: Sequence[Item]) -> str:
    """What a candidate is told before the first question."""
    kinds = {item.kind for item in items}
    told = f"{many(len(items), 'question')}, one mark each."
    if kinds & {"choice", "statement"}:
        told += " For each question choose the one best answer and mark its letter on the answer sheet."
    if "number" in kinds:
        told += " Where a number is asked for, write it there, in the unit given."
    return told


def header(paper: Paper, size: float, foot: str = "") -> dict[str, Any]:
    """What every sheet of a paper begins and ends with."""
    return {
        "title": paper.title,
        "paper": f"Paper {paper.form}",
        "foot": foot or f"Paper {paper.form}",
        "size": size,
        "cautions": " ".join(CAUTIONS),
    }


def paper_pdf(paper: Paper, *, large_print: bool = False) -> bytes:
    """The paper for candidates: A4, no question split over a page; in large print 18 points, not 10.5.

    Raises:
        InputError: for a drawing that is not SVG with a size.
    """
    size = LARGE if large_print else ORDINARY
    data = {
        **header(paper, size),
        "instructions": instructions(paper.items),
        "items": [_item(number, item, size) for number, item in enumerate(paper.items, start=1)],
    }
    return pdf(("sheet.typ", "paper.typ"), data, pictures(paper))


def answer_sheet_pdf(paper: Paper, *, large_print: bool = False) -> bytes:
    """The sheet on which a candidate marks a letter or writes a number for each question."""
    rows = [
        {
            "number": number,
            "letters": list(LETTERS[: len(item.options)]),
            "unit": unit_words(item.unit) if item.kind == "number" else "",
        }
        for number, item in enumerate(paper.items, start=1)
    ]
    data = {
        **header(paper, LARGE if large_print else ORDINARY, f"Answer sheet {paper.form}"),
        "rows": rows,
        "numbers": any(item.kind == "number" for item in paper.items),
    }
    return pdf(("sheet.typ", "answer_sheet.typ"), data)
