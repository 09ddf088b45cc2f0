"""Marks and item statistics as CSV, safe to open in a spreadsheet."""

import math
from collections.abc import Iterable, Mapping, Sequence

from lubberline.classroom.marking import answer_words, option_words, score
from lubberline.classroom.records import Marked
from lubberline.classroom.statistics import PaperStatistics
from lubberline.csvfile import csv_text


def table_csv(head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table as CSV, in UTF-8 with a byte order mark for spreadsheets; numbers to six figures."""
    return csv_text(head, ([_shortened(cell) for cell in row] for row in rows)).encode("utf-8-sig")


def _shortened(cell: object) -> object:
    return f"{cell:.6g}" if isinstance(cell, float) and math.isfinite(cell) else cell


def points_text(points: float) -> str:
    """Points without trailing zeros."""
    return f"{points:g}"


MARK_COLUMNS = (
    *("student", "question", "model", "topic", "answer", "points", "idea", "struck", "corrected"),
)


def _answer(mark: Marked, lettered: bool) -> str:
    words = answer_words(mark.answer, mark.item)
    return words if lettered else option_words(words, mark.item)


def marks_csv(marks: Sequence[Marked], names: Mapping[str, str], *, lettered: bool = True) -> bytes:
    """Every answer with its marks, a row each.

    Args:
        marks: from `marking.marked`.
        names: of students by id.
        lettered: whether options are given by their letters; otherwise by their texts.
    """
    return table_csv(
        MARK_COLUMNS,
        [
            (
                names.get(mark.answer.student, mark.answer.student),
                mark.answer.key,
                mark.item.model,
                mark.item.topic,
                _answer(mark, lettered),
                points_text(mark.points),
                mark.idea,
                "struck" if mark.struck else "",
                "corrected" if mark.corrected else "",
            )
            for mark in marks
        ],
    )


def totals_csv(marks: Sequence[Marked], names: Mapping[str, str]) -> bytes:
    """Each student's points, of how many, and percent; then a column for each question."""
    keys = list(dict.fromkeys(mark.answer.key for mark in marks))
    by_student: dict[str, dict[str, Marked]] = {}
    for mark in marks:
        by_student.setdefault(mark.answer.student, {})[mark.answer.key] = mark
    rows = []
    for student, own in sorted(by_student.items(), key=lambda pair: names.get(pair[0], pair[0]).casefold()):
        points, questions = score(own.values())
        rows.append(
            (
                names.get(student, student),
                points_text(points),
                questions,
                f"{100.0 * points / questions:.1f}" if questions else "",
                *(_mark_text(own.get(key)) for key in keys),
            )
        )
    return table_csv(("student", "points", "questions", "percent", *keys), rows)


def _mark_text(mark: Marked | None) -> str:
    if mark is None:
        return ""
    return "struck" if mark.struck else points_text(mark.points)


ITEM_COLUMNS = (
    *("question", "students", "right", "right_low", "right_high", "in_total", "in_rest", "rest_low"),
    *("rest_high", "upper_lower", "alpha_without", "flags", "stem"),
)


def items_statistics_csv(statistics: PaperStatistics) -> bytes:
    """A row for each question; shares and correlations as numbers, empty for none."""
    return table_csv(
        ITEM_COLUMNS,
        [
            (
                item.name,
                item.count,
                item.right_share,
                item.right_low,
                item.right_high,
                item.in_total,
                item.in_rest,
                item.rest_low,
                item.rest_high,
                item.upper_lower,
                item.alpha_without,
                " ".join(item.flags),
                item.stem,
            )
            for item in statistics.items
        ],
    )


CHOSEN_COLUMNS = (
    *("question", "answer", "text", "idea", "is_key", "count", "weakest_third", "middle_third", "best_third"),
)


def distractors_csv(statistics: PaperStatistics) -> bytes:
    """Who answered what: a row for each option of each question."""
    return table_csv(
        CHOSEN_COLUMNS,
        [
            (
                item.name,
                line.label,
                line.text,
                line.idea,
                "key" if line.is_key else "",
                line.count,
                *line.by_third,
            )
            for item in statistics.items
            for line in item.table
        ],
    )
