"""Item statistics: what the answers of a sitting say of its questions.

Questions that were struck out do not count. Forms of one set ask the same models with other values: they
are pooled by model where asked for, else each place of each form stands by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from lubberline.classroom import reliability
from lubberline.classroom.item_flags import flags_of, notes_of
from lubberline.classroom.marking import LETTERS, idea_of, is_right
from lubberline.classroom.records import Marked
from lubberline.classroom.statistics_records import Chosen, ItemStatistics, PaperStatistics

Floats = NDArray[np.float64]
UPPER_SHARE = 0.27


def item_statistics(marks: Sequence[Marked], *, by_model: bool = False) -> PaperStatistics:
    """The statistics of a sitting.

    Args:
        marks: from `marking.marked`; those that are struck are left out.
        by_model: pool the forms: the same model is the same question, whatever its values.

    Totals are shares of what a student was asked, so that forms of other lengths compare. Ties at the cut
    of the best and weakest 27% are broken by the order of the students' ids, which is the same every time.
    """
    counted = [mark for mark in marks if not mark.struck]
    names = list(dict.fromkeys(_name(mark, by_model) for mark in counted))
    students = sorted({mark.answer.student for mark in counted})
    row, column = ({one: k for k, one in enumerate(listed)} for listed in (students, names))
    points = np.full((len(students), len(names)), np.nan)
    for mark in counted:
        points[row[mark.answer.student], column[_name(mark, by_model)]] = mark.points
    totals = np.nansum(points, axis=1) if names else np.zeros(len(students))
    shares = totals / np.maximum(np.isfinite(points).sum(axis=1), 1)
    order = np.lexsort((np.arange(len(students)), shares))
    third = np.empty(len(students), dtype=int)
    third[order] = np.minimum(np.arange(len(students)) * 3 // max(len(students), 1), 2)
    thirds = {student: int(third[k]) for k, student in enumerate(students)}

    items = tuple(
        _item(
            name,
            [mark for mark in counted if _name(mark, by_model) == name],
            points,
            column[name],
            shares,
            order,
            thirds,
        )
        for name in names
    )
    return _paper(points, totals, items)


def _name(mark: Marked, by_model: bool) -> str:
    return mark.item.model if by_model else mark.answer.key


def _paper(points: Floats, totals: Floats, items: tuple[ItemStatistics, ...]) -> PaperStatistics:
    students, questions = points.shape
    found = reliability.alpha(points) if students > 1 else math.nan
    low, high = reliability.feldt(found, students, questions)
    sd = float(totals.std(ddof=1)) if students > 1 else math.nan
    return PaperStatistics(
        students=students,
        questions=questions,
        mean=float(totals.mean()) if students else math.nan,
        sd=sd,
        kr20=found,
        kr20_low=low,
        kr20_high=high,
        kr21=reliability.kr21(points) if questions else math.nan,
        error_of_measurement=reliability.error_of_measurement(sd, found),
        items=items,
        notes=notes_of(points, found, low, high),
    )


def _item(
    name: str,
    marks: Sequence[Marked],
    points: Floats,
    column: int,
    shares: Floats,
    order: NDArray[np.intp],
    thirds: dict[str, int],
) -> ItemStatistics:
    own = points[:, column]
    count = int(np.isfinite(own).sum())
    right = float(np.nansum(own))
    rest = np.delete(points, column, axis=1)
    others = np.nansum(rest, axis=1) / np.maximum(np.isfinite(rest).sum(axis=1), 1)
    in_rest = reliability.correlation(own, others) if rest.shape[1] else math.nan
    low, high = reliability.wilson(right, count)
    rest_low, rest_high = reliability.correlation_interval(in_rest, count)
    table = distractor_table(marks, thirds)
    statistics = ItemStatistics(
        name=name,
        stem=marks[0].item.stem,
        count=count,
        right_share=right / count if count else math.nan,
        right_low=low,
        right_high=high,
        in_total=reliability.correlation(own, shares),
        in_rest=in_rest,
        rest_low=rest_low,
        rest_high=rest_high,
        upper_lower=upper_lower(own, order),
        alpha_without=reliability.alpha(rest) if points.shape[0] > 1 else math.nan,
        table=table,
        flags=(),
    )
    return msgspec.structs.replace(statistics, flags=flags_of(statistics))


def upper_lower(own: Floats, order: NDArray[np.intp]) -> float:
    """Share right of the best 27% less that of the weakest 27%, of those who were asked.

    Args:
        own: points on the question, nan where it was not asked.
        order: rows from the weakest to the best.
    """
    asked = [k for k in order if math.isfinite(own[k])]
    size = round(UPPER_SHARE * len(asked))
    if size == 0:
        return math.nan
    return float(own[asked[-size:]].mean() - own[asked[:size]].mean())


def distractor_table(marks: Sequence[Marked], thirds: dict[str, int]) -> tuple[Chosen, ...]:
    """Who answered what; pooled forms are told apart by the wrong idea behind an option, not its letter."""
    item = marks[0].item
    pooled = any(mark.item.id != item.id for mark in marks)
    lines: dict[tuple[str, str, str, bool], list[int]] = {}
    if not pooled:
        for k, option in enumerate(item.options):
            lines[LETTERS[k], option.text, option.misconception, k == item.key] = [0, 0, 0]
        if item.kind == "number":
            lines["=", f"{item.answer:g}" if item.answer is not None else "", "", True] = [0, 0, 0]
            for slip in item.slips:
                lines[slip.text, slip.text, slip.misconception, False] = [0, 0, 0]
    for mark in marks:
        counts = lines.setdefault(_line(mark, pooled), [0, 0, 0])
        counts[thirds[mark.answer.student]] += 1
    return tuple(
        Chosen(label, text, idea, is_key, sum(counts), (counts[0], counts[1], counts[2]))
        for (label, text, idea, is_key), counts in lines.items()
    )


def _line(mark: Marked, pooled: bool) -> tuple[str, str, str, bool]:
    answer, item = mark.answer, mark.item
    if answer.blank:
        return "-", "no answer", "", False
    if is_right(answer, item):
        if pooled:
            return "=", "right", "", True
        if item.kind == "number":
            return "=", f"{item.answer:g}", "", True
    idea = idea_of(answer, item)
    if pooled:
        return ("~", idea, idea, False) if idea else ("*", "another answer", "", False)
    if item.kind != "number":
        inside = 0 <= answer.chosen < len(item.options)
        if not inside:
            return "*", "another answer", "", False
        option = item.options[answer.chosen]
        return LETTERS[answer.chosen], option.text, option.misconception, answer.chosen == item.key
    slip = next((one for one in item.slips if idea and one.misconception == idea), None)
    return ("*", "another number", "", False) if slip is None else (slip.text, slip.text, idea, False)
