"""The questions of papers as one table, a row a question: for the instructor, with key and reasons."""

from __future__ import annotations

import json
from collections.abc import Sequence

from lubberline.csvfile import csv_text
from lubberline.publish.answers import LETTERS, plain_number
from lubberline.publish.qti import identifier_of
from lubberline.questions.item import Item
from lubberline.questions.papers import Paper

FEWEST_OPTIONS = 4
BEFORE = ("form", "number", "identifier", "model", "topic", "level", "kind", "stem", "figure")
AFTER = ("answer", "tolerance", "unit", "slips", "reason", "source", "jurisdiction", "codes", "difficulty")


def items_csv(papers: Sequence[Paper]) -> bytes:
    """All questions of all forms as CSV, in UTF-8 with the mark by which spreadsheets know it.

    Columns: form, number on the paper, identifier as in QTI, model, topic, level, kind, stem, the figure's
    text alternative; option_A and on, key (a letter), idea_A and on (the wrong idea behind each option),
    feedback_A and on; answer, tolerance, unit and slips (value, idea and feedback as JSON) of numbers;
    reason, source, jurisdiction, codes, difficulty, and the values drawn as JSON.
    """
    count = max([FEWEST_OPTIONS, *(len(item.options) for paper in papers for item in paper.items)])
    letters = LETTERS[:count]
    columns = [
        *BEFORE,
        *(f"option_{letter}" for letter in letters),
        "key",
        *(f"idea_{letter}" for letter in letters),
        *(f"feedback_{letter}" for letter in letters),
        *AFTER,
        "drawn",
    ]
    rows = [
        _row(paper.form, number, item, count)
        for paper in papers
        for number, item in enumerate(paper.items, start=1)
    ]
    return csv_text(columns, rows).encode("utf-8-sig")


def _row(form: str, number: int, item: Item, count: int) -> list[str]:
    blank = [""] * (count - len(item.options))
    slips = [
        {"value": slip.value, "idea": slip.misconception, "feedback": slip.feedback} for slip in item.slips
    ]
    return [
        form,
        str(number),
        identifier_of(item),
        item.model,
        item.topic,
        item.level,
        item.kind,
        item.stem,
        item.figure.alt if item.figure else "",
        *(option.text for option in item.options),
        *blank,
        LETTERS[item.key] if item.key >= 0 else "",
        *(option.misconception for option in item.options),
        *blank,
        *(option.feedback for option in item.options),
        *blank,
        _number(item.answer),
        _number(item.tolerance),
        item.unit if item.kind == "number" else "",
        json.dumps(slips, ensure_ascii=False) if slips else "",
        item.reason,
        item.source,
        item.jurisdiction,
        " ".join(item.codes),
        f"{item.difficulty:.3f}",
        json.dumps(item.drawn, ensure_ascii=False, sort_keys=True),
    ]


def _number(value: float | None) -> str:
    return "" if value is None else plain_number(value)
