"""Marks and answers of a sitting as CSV, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from lubberline.classroom.marking import answer_words, score
from lubberline.publish.answers import key_words
from lubberline.store.export import FORMULA_SIGNS
from lubberline.web.sittings.roll import Roll
from lubberline.web.sittings.shown import asked_in


def _cell(value: str | float) -> str | float:
    """A text that a spreadsheet does not take for a formula; a lone minus is none."""
    risky = isinstance(value, str) and len(value) > 1 and value.startswith(FORMULA_SIGNS)
    return f"'{value}" if risky else value


def table(head: Sequence[str], rows: Iterable[Sequence[str | float]]) -> bytes:
    """A table as CSV in UTF-8 with a mark by which spreadsheets know it."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return text.getvalue().encode("utf-8-sig")


def marks_csv(roll: Roll) -> bytes:
    """A row for each student: points, questions that count, share, handed in or not."""
    head = ("name", "number", "form", "points", "questions", "percent", "handed in")
    rows: list[tuple[str | float, ...]] = []
    for row in roll.rows:
        points, count = score(roll.marks.get(row["id"], {}).values())
        percent = round(100.0 * points / count, 1) if count else ""
        ended = "yes" if row["ended"] else "no"
        rows.append((row["name"], row["number"], row["form"], points, count, percent, ended))
    return table(head, rows)


def items_csv(roll: Roll) -> bytes:
    """A row for each student and question: the answer, the right one, points, and the wrong idea."""
    head = ("name", "number", "question", "model", "topic", "answer", "right", "points", "counts", "idea")
    rows: list[tuple[str | float, ...]] = []
    for row in roll.rows:
        own = roll.marks.get(row["id"], {})
        for asked in asked_in(roll.sitting, row["form"]):
            mark, item = own.get(asked.key), asked.item
            said = answer_words(mark.answer, item) if mark else "-"
            given = (mark.points if mark else 0.0, "no" if asked.key in roll.struck else "yes")
            who = (row["name"], row["number"], asked.key, item.model, item.topic)
            rows.append((*who, said, key_words(item), *given, mark.idea if mark else ""))
    return table(head, rows)
