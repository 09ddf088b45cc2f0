"""Item statistics: what the answers of a sitting show about its questions.

Questions that were struck out do not count. Forms of one set ask the same models with other values: on
request they are pooled by model; otherwise each question of each form is counted on its own.
"""

import math
from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats
from lubberline.classroom import reliability
from lubberline.classroom.marking import idea_of, is_right
from lubberline.classroom.records import Marked
from lubberline.questions.item import LETTERS
from lubberline.questions.notation import plain


class DistractorLine(msgspec.Struct, frozen=True):
    """One line of a distractor table.

    Attributes:
        label: the option's letter, '•' in a lesson; the number of a slip as written; '-' for blank, '*' for
            any other number.
        text: the option as printed.
        idea: id of its wrong idea; '' for the key and for other numbers.
        is_key: whether it is right.
        count: how many gave this answer.
        by_third: how many of the weakest, middle and best third of the class by total.
    """

    label: str
    text: str
    idea: str
    is_key: bool
    count: int
    by_third: tuple[int, int, int]


class ItemStatistics(msgspec.Struct, frozen=True):
    """What the answers show about one question.

    Intervals are of 95%; nan where nothing can be calculated.

    Attributes:
        name: the question's place, or its model where forms are pooled.
        stem: as asked.
        count: students who were asked it.
        right_share: share of them who had it right (item difficulty), with its interval.
        in_total: point-biserial correlation with the total.
        in_rest: the same with the total of the other questions (discrimination), with its interval.
        upper_lower: share right of the best 27% less that of the weakest 27%.
        alpha_without: the paper's alpha with this question left out.
        table: who answered what.
        flags: what to check, in words.
    """

    name: str
    stem: str
    count: int
    right_share: float
    right_low: float
    right_high: float
    in_total: float
    in_rest: float
    rest_low: float
    rest_high: float
    upper_lower: float
    alpha_without: float
    table: tuple[DistractorLine, ...]
    flags: tuple[str, ...]


class PaperStatistics(msgspec.Struct, frozen=True):
    """What the answers show about a paper.

    Attributes:
        students: how many sat it.
        questions: how many count.
        mean: of the totals, in points; `sd` their standard deviation over n - 1.
        kr20: Kuder-Richardson 20, or alpha if points are not all 0 or 1; `low`, `high` by Feldt.
        kr21: Kuder-Richardson 21.
        error_of_measurement: standard error of a student's total, points.
        items: by question.
        notes: what was assumed, and how reliable the numbers are, in words.
    """

    students: int
    questions: int
    mean: float
    sd: float
    kr20: float
    kr20_low: float
    kr20_high: float
    kr21: float
    error_of_measurement: float
    items: tuple[ItemStatistics, ...]
    notes: tuple[str, ...]


# Fewer answers than this show almost nothing about a question.
FEW = 8
# With so many choices expected by chance, an option should have been chosen by somebody.
EXPECTED_BY_CHANCE = 3.0
WEAK_DISCRIMINATION, GOOD_DISCRIMINATION = 0.1, 0.3
SMALL_CLASS = 30
WIDE = 0.3
UNLETTERED = "•"


def flags_of(item: ItemStatistics) -> tuple[str, ...]:
    """What to check; the first is the most serious."""
    if item.count < FEW:
        return (f"Only {item.count} answered it: too few to judge the question.",)
    found = [*_key_flags(item), *_ease_flags(item), *_option_flags(item), *_blank_flags(item)]
    return tuple(found)


def _key_flags(item: ItemStatistics) -> list[str]:
    found, key_best = [], sum(line.by_third[2] for line in item.table if line.is_key)
    for line in item.table:
        best = line.by_third[2]
        if not line.is_key and line.label not in "-*" and best > key_best and best >= EXPECTED_BY_CHANCE:
            words = f"The best third chose {_called(line.label, line.text)} {best} times and the key "
            found.append(words + f"{key_best} times: check the key and the wording.")
    if math.isfinite(item.rest_high) and item.rest_high < 0.0:
        found.append("Stronger students got it wrong more often than weaker ones: check the key.")
    elif item.in_rest < WEAK_DISCRIMINATION and item.rest_high < 2.0 * WEAK_DISCRIMINATION:
        found.append("It hardly separates stronger from weaker students.")
    elif item.in_rest < 0.0 and item.rest_high < GOOD_DISCRIMINATION:
        found.append(
            "Stronger students got it right less often than the others; in so small a class that may be "
            "chance."
        )
    return found


def _called(label: str, text: str) -> str:
    return f"option {label}" if label.isalpha() and len(label) == 1 else f"'{text}'"


def _is_option(line: DistractorLine) -> bool:
    return line.label == UNLETTERED or (line.label.isalpha() and len(line.label) == 1)


def _ease_flags(item: ItemStatistics) -> list[str]:
    if item.right_share == 1.0:
        return ["Everybody got it right: it does not separate stronger from weaker students."]
    if item.right_share == 0.0:
        return ["Nobody got it right: check the key and whether the point was taught."]
    options = sum(1 for line in item.table if _is_option(line))
    if options > 1 and item.right_high < 1.0 / options:
        return [f"Fewer got it right than expected from guessing among {options} options."]
    return []


def _option_flags(item: ItemStatistics) -> list[str]:
    options = [line for line in item.table if _is_option(line)]
    wrong = sum(line.count for line in options if not line.is_key)
    distractors = [line for line in options if not line.is_key]
    enough = distractors and wrong / len(distractors) >= EXPECTED_BY_CHANCE
    never = [line for line in distractors if line.count == 0]
    if not never or not enough:
        return []
    several = len(never) > 1
    if never[0].label == UNLETTERED:
        names = " and ".join(_called(line.label, line.text) for line in never)
    else:
        names = f"Option{'s' if several else ''} {' and '.join(line.label for line in never)}"
    return [f"{names} {'were' if several else 'was'} never chosen."]


def _blank_flags(item: ItemStatistics) -> list[str]:
    blank = sum(line.count for line in item.table if line.label == "-")
    if blank >= EXPECTED_BY_CHANCE and blank >= 0.2 * item.count:
        return [
            f"{blank} of {item.count} left it blank: check whether the paper is too long or the question "
            "unclear."
        ]
    return []


def notes_of(points: NDArray[np.float64], found: float, low: float, high: float) -> tuple[str, ...]:
    """How reliable the numbers of a paper are."""
    students, questions = points.shape
    notes = []
    if students < SMALL_CLASS:
        counted = f"{students} student{'' if students == 1 else 's'}"
        notes.append(
            f"Only {counted}: read the intervals, not the single numbers. A question that looks bad in this "
            "class may look good in the next."
        )
    if questions < 2 or students < 3:
        notes.append("Too few answers to calculate a reliability.")
    elif not math.isfinite(found):
        notes.append("All totals are equal: no reliability can be calculated.")
    elif high - low > WIDE:
        notes.append(f"The reliability may be anywhere from {plain(low, 2)} to {plain(high, 2)}.")
    gaps = int((~np.isfinite(points)).sum())
    if gaps:
        notes.append(
            f"{gaps} of {points.size} answers {'is' if gaps == 1 else 'are'} missing because not every "
            "student was asked every question (other forms, or late for a lesson). Each number counts the "
            "students who were asked."
        )
    return tuple(notes)


UPPER_SHARE = 0.27


def item_statistics(
    marks: Sequence[Marked], *, by_model: bool = False, lettered: bool = True
) -> PaperStatistics:
    """The statistics of a sitting.

    Args:
        marks: from `marking.marked`; questions struck out are ignored.
        by_model: pool the forms: the same model is the same question, whatever its values.
        lettered: whether the options have letters of their own: on a paper, not in a lesson.

    Totals are shares of what a student was asked, so that forms of different lengths can be compared. Ties at
    the cut of the best and weakest 27% are broken by the order of the students' ids.
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
            lettered,
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
    lettered: bool,
) -> ItemStatistics:
    own = points[:, column]
    count = int(np.isfinite(own).sum())
    right = float(np.nansum(own))
    rest = np.delete(points, column, axis=1)
    others = np.nansum(rest, axis=1) / np.maximum(np.isfinite(rest).sum(axis=1), 1)
    in_rest = reliability.correlation(own, others) if rest.shape[1] else math.nan
    low, high = reliability.wilson(right, count)
    rest_low, rest_high = reliability.correlation_interval(in_rest, count)
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
        table=distractor_table(marks, thirds, lettered),
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


def distractor_table(
    marks: Sequence[Marked], thirds: dict[str, int], lettered: bool
) -> tuple[DistractorLine, ...]:
    """Who answered what; in pooled forms an option is known by its wrong idea, not by its letter."""
    item = marks[0].item
    pooled = any(mark.item.id != item.id for mark in marks)
    lines: dict[tuple[str, str, str, bool], list[int]] = {}
    if not pooled:
        lines = {
            (_label(k, lettered), option.text, option.misconception, k == item.key): [0, 0, 0]
            for k, option in enumerate(item.options)
        }
        if item.kind == "number":
            lines["=", f"{item.answer:g}" if item.answer is not None else "", "", True] = [0, 0, 0]
            lines |= {(slip.text, slip.text, slip.misconception, False): [0, 0, 0] for slip in item.slips}
    for mark in marks:
        counts = lines.setdefault(_line(mark, pooled, lettered), [0, 0, 0])
        counts[thirds[mark.answer.student]] += 1
    return tuple(
        DistractorLine(label, text, idea, is_key, sum(counts), (counts[0], counts[1], counts[2]))
        for (label, text, idea, is_key), counts in lines.items()
    )


def _label(option: int, lettered: bool) -> str:
    return LETTERS[option] if lettered else UNLETTERED


def _line(mark: Marked, pooled: bool, lettered: bool) -> tuple[str, str, str, bool]:
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
        label = _label(answer.chosen, lettered)
        return label, option.text, option.misconception, answer.chosen == item.key
    slip = next((one for one in item.slips if idea and one.misconception == idea), None)
    return ("*", "another number", "", False) if slip is None else (slip.text, slip.text, idea, False)
