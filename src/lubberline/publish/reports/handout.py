"""A lesson on paper: the students' handout, and the instructor's sheet."""

import math
import re
from typing import Any

from lubberline.classroom.lessons.lesson import Step
from lubberline.classroom.lessons.order import Order, shuffled
from lubberline.classroom.lessons.questions import TaughtLesson
from lubberline.classroom.lessons.timing import timed
from lubberline.classroom.records import Asked
from lubberline.flight.home import Paper
from lubberline.publish.papers.answers import number_words, paragraphs, range_words, unit_words
from lubberline.publish.pdf import pdf
from lubberline.publish.words import typeset
from lubberline.questions.figures import heading_dial
from lubberline.questions.item import Item
from lubberline.simulation import CAUTIONS

SIZE, INSTRUCTOR_SIZE = 10.5, 9.5
PALE = "#6b737a"
BRIEF = 14
Runs = list[dict[str, Any]]


def runs_of(text: str) -> list[Runs]:
    """The paragraphs of a text in Markdown, each as runs of plain and strong words."""
    lists = re.sub(r"\n\s*[-+*]\s+", "\n\n• ", f"\n{text}")
    return [_runs(words) for words in paragraphs(re.sub(r"\n#+\s*", "\n\n", lists))]


def _runs(words: str) -> Runs:
    linked = re.sub(r"\[([^\]]*)\]\(([^)]*)\)", r"\1", words).replace("`", "")
    parts = re.split(r"\*\*(.+?)\*\*", linked)
    plain = [re.sub(r"(?<!\w)[*_](\S.*?)[*_](?!\w)", r"\1", part) for part in parts]
    return [{"text": typeset(part), "strong": bool(at % 2)} for at, part in enumerate(plain) if part]


def _question(number: str, one: Asked, pictures: dict[str, str], order: Order = ()) -> dict[str, Any]:
    """A question with boxes to tick: its letters in class are those of the projector."""
    item = one.item
    figure = None
    if item.figure is not None:
        figure = {"name": f"figure-{one.key}", "alt": item.figure.alt}
        pictures[f"figure-{one.key}"] = item.figure.svg
    return {
        "number": number,
        "stem": runs_of(item.stem),
        "options": [typeset(item.options[own].text) for own in order],
        # Short options are set in a row.
        "brief": bool(item.options) and all(len(option.text) <= BRIEF for option in item.options),
        "unit": "°" if item.circle else typeset(unit_words(item.unit)),
        "figure": figure,
    }


def _moment(worked: TaughtLesson, index: int, step: Step, pictures: dict[str, str]) -> dict[str, Any] | None:
    """The card at the moment of the question, with a mark for each wrong idea."""
    asked = worked.of_step(index)
    if step.question is None or not asked or not step.question.asks.endswith("indicated_deg"):
        return None
    item = asked[0].item
    if item.answer is None:
        return None
    right = item.answer
    name = f"moment-{index}"
    drawn = heading_dial(right)
    marks = "".join(_mark(slip.value - right) for slip in item.slips if slip.value is not None)
    pictures[name] = drawn.svg.replace("</svg>", f"{marks}</svg>")
    told = f"{round(right) % 360:03d}"
    expected = ", ".join(f"{round(slip.value or 0.0) % 360:03d}" for slip in item.slips)
    words = f"{step.title.rstrip('?.')}: {told}." + (
        f" Pale: expected by wrong ideas, {expected}." if expected else ""
    )
    return {"name": name, "alt": drawn.alt, "words": typeset(words)}


def _mark(turn_deg: float) -> str:
    """A pale arrow head outside the rim, at an angle."""
    turn = math.fmod(turn_deg, 360.0)
    path = f'd="M110 15l-6 -11h12z" fill="{PALE}" stroke="none"'
    return f'<path transform="rotate({turn:.1f} 110 110)" {path}/>'


def _sheet(worked: TaughtLesson, paper: str, size: float) -> dict[str, Any]:
    lesson = worked.lesson
    return {
        "title": lesson.title,
        "paper": paper,
        "foot": f"{lesson.title}, {paper.lower()}",
        "size": size,
        "cautions": " ".join(CAUTIONS),
        "aim": _runs(lesson.aim),
    }


def student_pdf(worked: TaughtLesson, paper: Paper = "A4") -> bytes:
    """The students' sheet: predictions with lines to write on, points to remember, and the quiz."""
    pictures: dict[str, str] = {}
    predictions: list[dict[str, Any]] = []
    moments: list[dict[str, Any]] = []
    short: list[dict[str, Any]] = []
    quiz: list[dict[str, Any]] = []
    orders = shuffled(worked.lesson.id, worked.asked)
    for index, step in enumerate(worked.lesson.steps):
        asked = worked.of_step(index)
        if step.question is not None:
            number = str(len(predictions) + 1)
            predictions.append(
                _question(number, asked[0], pictures, orders.get(asked[0].key, ())) | {"title": step.title}
            )
        elif step.quiz is not None:
            quiz += [
                _question(str(len(quiz) + place), one, pictures, orders.get(one.key, ()))
                for place, one in enumerate(asked, 1)
            ]
        if step.short:
            short.append({"title": step.title, "words": _runs(step.short)})
        moment = _moment(worked, index, step, pictures)
        moments += [moment] if moment else []
    parts = {"predictions": predictions, "short": short, "moments": moments, "quiz": quiz}
    return pdf(
        ("sheet.typ", "handout.typ"), {**_sheet(worked, "Handout", SIZE), **parts}, pictures, paper=paper
    )


def instructor_pdf(worked: TaughtLesson, paper: Paper = "A4") -> bytes:
    """The instructor's sheet: timing, notes, right answers, and what each wrong answer means."""
    pictures: dict[str, str] = {}
    rows = timed(worked.lesson)
    steps = []
    since = 0.0
    for index, (step, row) in enumerate(zip(worked.lesson.steps, rows, strict=True)):
        steps.append(
            {
                "number": index + 1,
                "kind": step.kind.capitalize(),
                "title": step.title,
                "from": f"{since:.0f}",
                "minutes": f"{row.planned_min:g}" if step.minutes else f"{row.planned_min:.1f}",
                "scene": step.show.scene_ref if step.show else "",
                "text": runs_of(step.text) if step.question is None else [],
                "notes": runs_of(step.notes),
                "asked": [_answered(one, pictures) for one in worked.of_step(index)],
            }
        )
        since += row.planned_min
    data = {
        **_sheet(worked, "Instructor's sheet", INSTRUCTOR_SIZE),
        "needs": _runs(worked.lesson.needs),
        "total": f"{since:.0f}",
        "steps": steps,
    }
    return pdf(("sheet.typ", "teaching.typ"), data, pictures, paper=paper)


def _answered(one: Asked, pictures: dict[str, str]) -> dict[str, Any]:
    item = one.item
    told = [
        {
            "answer": _wrong_words(item, place),
            "means": typeset(option.feedback),
            "idea": option.misconception,
        }
        for place, option in enumerate(item.slips if item.kind == "number" else item.options)
        if item.kind == "number" or place != item.key
    ]
    return _question("", one, pictures) | {
        "right": _right(item),
        "reason": typeset(item.reason),
        "wrong": told,
    }


def _right(item: Item) -> str:
    if item.kind == "number":
        near = f" ({range_words(item)})" if item.tolerance else ""
        return f"{number_words(item)}{near}"
    return typeset(item.options[item.key].text)


def _wrong_words(item: Item, place: int) -> str:
    if item.kind != "number":
        return typeset(item.options[place].text.rstrip("."))
    value = item.slips[place].value or 0.0
    return f"{round(value) % 360:03d}°" if item.circle else typeset(f"{value:,g}")
