"""A class's results drawn: each question's difficulty and discrimination, each student's marks."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from lubberline.classroom.marking import score
from lubberline.classroom.records import Marked
from lubberline.classroom.statistics import FEW, ItemStatistics, PaperStatistics
from lubberline.publish.figures.svg import Drawing, document, text_width
from lubberline.publish.words import number, shortened, signed

WIDTH = 760.0
LETTERS_PX = 14.0
ROW_PX, HEAD_PX, FOOT_PX = 24.0, 46.0, 34.0
NAME_LETTERS = 28
SHARES = tuple((tenth / 10.0, f"{10 * tenth}%") for tenth in range(0, 11, 2))
CORRELATIONS = tuple((half / 2.0, signed(half / 2.0)) for half in range(-2, 3))
# Wide letters need more space than `text_width` estimates.
ROOM = 1.15


class _Panel(NamedTuple):
    """A column of the drawing: position, range, title and ticks."""

    left: float
    width: float
    low: float
    high: float
    title: str
    ticks: Sequence[tuple[float, str]]

    def x(self, value: float) -> float:
        return self.left + (value - self.low) / (self.high - self.low) * self.width


def _grid(drawing: Drawing, panel: _Panel, bottom: float) -> None:
    drawing.text(panel.left, 20.0, panel.title, "b", size=15)
    for value, label in panel.ticks:
        x = panel.x(value)
        drawing.line(x, HEAD_PX - 12.0, x, bottom, "zero" if value == 0.0 and panel.low < 0.0 else "grid")
        drawing.text(x, bottom + 18.0, label, "m", size=LETTERS_PX, anchor="middle")


def _name_room(names: Sequence[str]) -> float:
    widest = max((text_width(shortened(name, NAME_LETTERS), LETTERS_PX) for name in names), default=40.0)
    return ROOM * widest + 24.0


def to_look_at(item: ItemStatistics) -> bool:
    """Whether a question has a flag other than 'too few answers'."""
    return item.count >= FEW and bool(item.flags)


def item_map_svg(statistics: PaperStatistics, *, theme: str = "light") -> str:
    """A row for each question: the share of right answers, and its correlation with the rest.

    Both with 95% intervals. Questions to check have a filled triangle instead of a ring, and a bold name.

    Args:
        statistics: of a paper.
        theme: as in `drawn_page.document`.
    """
    items = statistics.items
    left = _name_room([item.name for item in items])
    half = 0.5 * (WIDTH - left - 70.0)
    bottom = HEAD_PX + ROW_PX * max(len(items), 1)
    shares = _Panel(left, half, 0.0, 1.0, "Right", SHARES)
    tells = _Panel(left + half + 46.0, half, -1.0, 1.0, "Discrimination", CORRELATIONS)
    drawing = Drawing()
    for panel in (shares, tells):
        _grid(drawing, panel, bottom)
    for place, item in enumerate(items):
        y = HEAD_PX + ROW_PX * (place + 0.5)
        strong = to_look_at(item)
        kind = "b t" if strong else "t"
        name = shortened(item.name, NAME_LETTERS)
        drawing.text(left - 12.0, y + 5.0, name, kind, size=LETTERS_PX, anchor="end")
        _estimate(drawing, shares.x, y, (item.right_low, item.right_share, item.right_high), strong)
        _estimate(drawing, tells.x, y, (item.rest_low, item.in_rest, item.rest_high), strong)
        if not math.isfinite(item.in_rest):
            drawing.text(tells.x(0.0), y + 5.0, "–", "m halo", size=LETTERS_PX, anchor="middle")
    flagged = [item.name for item in items if to_look_at(item)]
    told = (
        f"{len(items)} questions: the share of the class that answered each one right, and its correlation "
        f"with the total of the others, both with 95% intervals. To check: {', '.join(flagged) or 'none'}."
    )
    size = (WIDTH, bottom + FOOT_PX)
    return document("Questions of the paper", told, size, drawing.markup(), theme=theme)


def _estimate(
    drawing: Drawing,
    x_of: Callable[[float], float],
    y: float,
    values: tuple[float, float, float],
    strong: bool,
) -> None:
    low, middle, high = values
    if not math.isfinite(middle):
        return
    if math.isfinite(low) and math.isfinite(high):
        drawing.line(x_of(low), y, x_of(high), y, "ink")
        for end in (low, high):
            drawing.line(x_of(end), y - 4.0, x_of(end), y + 4.0, "ink")
    x = x_of(middle)
    ring = f"M{x - 5:.1f} {y:.1f}a5 5 0 1 0 10 0a5 5 0 1 0 -10 0Z"
    triangle = f"M{x:.1f} {y - 7:.1f}l6.5 12h-13Z"
    drawing.path(triangle if strong else ring, "alarm" if strong else "open")


def marks_strip_svg(
    marks: Sequence[Marked], names: Mapping[str, str], *, mark: float | None = None, theme: str = "light"
) -> str:
    """Every student's share of the points as a bar, the best first; a triangle marks those below the mark.

    Args:
        marks: of a sitting, all students.
        names: of students by id.
        mark: share needed to pass, drawn as a line; None for none.
        theme: as in `drawn_page.document`.
    """
    by_student: dict[str, list[Marked]] = {}
    for one in marks:
        by_student.setdefault(one.answer.student, []).append(one)
    scores = [(names.get(student, student), *score(own)) for student, own in by_student.items()]
    rows = sorted((row for row in scores if row[2]), key=lambda row: (-row[1] / row[2], row[0]))
    left = _name_room([name for name, _, _ in rows])
    panel = _Panel(left, WIDTH - left - 150.0, 0.0, 1.0, "Share of the points", SHARES)
    bottom = HEAD_PX + ROW_PX * max(len(rows), 1)
    drawing = Drawing()
    _grid(drawing, panel, bottom)
    below = 0
    for place, (name, points, questions) in enumerate(rows):
        y = HEAD_PX + ROW_PX * (place + 0.5)
        share = points / questions
        drawing.text(left - 12.0, y + 5.0, shortened(name, NAME_LETTERS), "t", size=LETTERS_PX, anchor="end")
        wide = panel.x(share) - left
        drawing.path(f"M{left:.1f} {y - 7:.1f}h{wide:.1f}v14h{-wide:.1f}Z", "interval")
        words = f"{points:g} of {questions}, {number(100.0 * share, 0)}%"
        drawing.text(panel.x(1.0) + 26.0, y + 5.0, words, "t", size=LETTERS_PX)
        if mark is not None and share < mark - 1e-9:
            below += 1
            drawing.path(f"M{panel.x(1.0) + 14:.1f} {y - 6:.1f}l6 11h-12Z", "alarm")
    told = f"{len(rows)} students, the best first"
    if mark is not None:
        drawing.line(panel.x(mark), HEAD_PX - 14.0, panel.x(mark), bottom, "limit")
        drawing.text(panel.x(mark), HEAD_PX - 18.0, f"{100.0 * mark:.0f}%", "m", size=13, anchor="middle")
        told += f"; {below} below {100.0 * mark:.0f}%"
    size = (WIDTH, bottom + FOOT_PX)
    return document("Marks of the class", f"{told}.", size, drawing.markup(), theme=theme)
