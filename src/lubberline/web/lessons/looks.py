"""A lesson as its preview shows it: each step with its words in HTML, its question, answers and time."""

from __future__ import annotations

from typing import Any

from lubberline.classroom.lessons.lesson import Lesson, Step
from lubberline.classroom.lessons.questions import Worked
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.lessons.timing import timed
from lubberline.classroom.records import Asked
from lubberline.publish.answers import LETTERS, key_words


def lesson_look(worked: Worked) -> dict[str, Any]:
    """What the template of the preview reads."""
    lesson = worked.lesson
    rows = timed(lesson)
    return {
        "title": lesson.title,
        "aim": lesson.aim,
        "needs": lesson.needs,
        "minutes": lesson.minutes,
        "estimated": sum(row.estimated_min for row in rows),
        "questions": len(worked.asked),
        "steps": [
            _step(lesson, index, step, worked.of_step(index))
            | {"estimated": row.estimated_min, "off": row.plan_is_off}
            for index, (step, row) in enumerate(zip(lesson.steps, rows, strict=True))
        ],
    }


def _step(lesson: Lesson, index: int, step: Step, asked: tuple[Asked, ...]) -> dict[str, Any]:
    show = step.show
    return {
        "number": index + 1,
        "kind": step.kind,
        "title": step.title,
        "line": step.line,
        "html": lesson_html(step.text),
        "notes": lesson_html(step.notes),
        "planned": step.minutes,
        "scene": show.scene if show else "",
        "bench": show.bench if show else "",
        "from": show.from_s if show else 0.0,
        "to": show.to_s if show else 0.0,
        "reveals": lesson.steps[step.reveals].title if step.reveals >= 0 else "",
        "asked": [_asked(one, predicted=step.question is not None) for one in asked],
    }


def _asked(one: Asked, *, predicted: bool) -> dict[str, Any]:
    item = one.item
    wrong = item.slips if item.kind == "number" else item.options
    return {
        "stem": "" if predicted else lesson_html(item.stem),
        "right": key_words(item),
        "reason": item.reason,
        "rows": [
            {
                "answer": option.text if item.kind == "number" else f"{LETTERS[place]}. {option.text}",
                "right": place == item.key,
                "idea": option.misconception,
                "means": option.feedback,
            }
            for place, option in enumerate(wrong)
        ],
    }
