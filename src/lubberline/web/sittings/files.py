"""Marks and answers of a sitting as CSV, safe to open in a spreadsheet."""

from __future__ import annotations

from lubberline.classroom.marking import score
from lubberline.publish.reports.results_tables import marks_csv, points_text, table_csv
from lubberline.web.sittings.roll import Roll


def totals_csv(roll: Roll) -> bytes:
    """A row for each student, those who answered nothing too: points, questions that count, percent."""
    head = ("name", "number", "form", "points", "questions", "percent", "handed in")
    rows = []
    for row in roll.rows:
        points, count = score(roll.marks.get(row["id"], {}).values())
        percent = f"{100.0 * points / count:.1f}" if count else ""
        ended = "yes" if row["ended"] else "no"
        who = (row["name"], row["number"], row["form"])
        rows.append((*who, points_text(points), count, percent, ended))
    return table_csv(head, rows)


def answers_csv(roll: Roll) -> bytes:
    """A row for each student and question: the answer, its points, and the wrong idea it fits."""
    names = {row["id"]: row["name"] for row in roll.rows}
    marks = [mark for row in roll.rows for mark in roll.marks.get(row["id"], {}).values()]
    return marks_csv(marks, names)
