"""What the statistics of a paper say, as plain values."""

from __future__ import annotations

import msgspec


class Chosen(msgspec.Struct, frozen=True):
    """One line of a distractor table.

    Attributes:
        label: the option's letter; a number's slip as written; '-' for blank, '*' for any other number.
        text: the option as printed.
        idea: id of the wrong idea it stands for; '' for the key and for other numbers.
        is_key: whether it is right.
        count: how many answered so.
        by_third: of the weakest, middle and best third of the class by their total.
    """

    label: str
    text: str
    idea: str
    is_key: bool
    count: int
    by_third: tuple[int, int, int]


class ItemStatistics(msgspec.Struct, frozen=True):
    """What answers say of one question.

    Intervals are of 95%; nan stands where there is nothing to compute.

    Attributes:
        name: the question's place, or its model where forms are pooled.
        stem: as asked.
        count: students who were asked it.
        right_share: of them, who had it right (item difficulty); with its interval.
        in_total: point-biserial correlation with the total.
        in_rest: the same with the total of the other questions (discrimination); with its interval.
        upper_lower: share right of the best 27% less that of the weakest 27%.
        alpha_without: the paper's alpha with this question left out.
        table: who answered what.
        flags: what to look at, in words.
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
    table: tuple[Chosen, ...]
    flags: tuple[str, ...]


class PaperStatistics(msgspec.Struct, frozen=True):
    """What answers say of a paper.

    Attributes:
        students: how many sat it.
        questions: how many count.
        mean: of the totals, in points; `sd` their standard deviation over n - 1.
        kr20: Kuder-Richardson 20, or alpha where points are not all 0 or 1; `low`, `high` by Feldt.
        kr21: Kuder-Richardson 21.
        error_of_measurement: standard error of a student's total, points.
        items: by question.
        notes: what was assumed, and how much the numbers are worth, in words.
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
