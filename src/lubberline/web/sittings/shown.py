"""What a student sees of a question: built from nothing but stem, drawing and options.

Keys, feedback, wrong ideas and slips are never put in, so that no template can let them out.
"""

from __future__ import annotations

from typing import Any

from lubberline.classroom.marking import LETTERS, answer_words, feedback_of, score
from lubberline.classroom.records import Answer, Asked, Marked, Sitting
from lubberline.publish.papers.answers import key_words, paragraphs, unit_words
from lubberline.publish.words import number
from lubberline.web.questions.items import drawing


def given(answer: Answer) -> dict[str, Any]:
    """An answer as the page has it in its fields."""
    value = "" if answer.value is None else f"{answer.value:g}"
    return {"key": answer.key, "chosen": answer.chosen, "value": value}


def question(asked: Asked, place: int, answer: Answer | None) -> dict[str, Any]:
    """A question without its answer, and what this student has answered so far."""
    item = asked.item
    own = answer if answer is not None else Answer("", "", asked.key)
    return {
        **given(own),
        "number": place,
        "kind": item.kind,
        "circle": item.circle,
        "stem": paragraphs(item.stem),
        "figure": drawing(item.figure, "question") if item.figure else None,
        "unit": unit_words(item.unit) if item.kind == "number" else "",
        "options": [
            {"index": index, "letter": LETTERS[index], "text": option.text}
            for index, option in enumerate(item.options)
        ],
        "blank": own.blank,
        "said": answer_words(own, item) if not own.blank else "",
    }


def asked_in(sitting: Sitting, form: str) -> tuple[Asked, ...]:
    """The questions of one form, in order."""
    return tuple(asked for asked in sitting.asked if asked.form in ("", form))


def paper(sitting: Sitting, form: str, answers: dict[str, Answer]) -> list[dict[str, Any]]:
    """A student's paper."""
    own = asked_in(sitting, form)
    return [question(asked, place, answers.get(asked.key)) for place, asked in enumerate(own, start=1)]


def mended(sitting: Sitting, form: str, marks: dict[str, Marked]) -> dict[str, Any]:
    """A student's marks after release: each question with its right answer and what mends a wrong one."""
    rows = []
    for place, asked in enumerate(asked_in(sitting, form), start=1):
        mark = marks.get(asked.key, Marked(Answer(sitting.id, "", asked.key), asked.item, 0.0))
        look = question(asked, place, mark.answer)
        item = asked.item
        rows.append(
            {
                **look,
                "points": mark.points,
                "struck": mark.struck,
                "corrected": mark.corrected,
                "right": key_words(item),
                "right_text": item.options[item.key].text if item.options else "",
                "said_text": item.options[mark.answer.chosen].text
                if item.options and 0 <= mark.answer.chosen < len(item.options)
                else "",
                "mend": item.reason if mark.answer.blank else feedback_of(mark.answer, item),
            }
        )
    points, count = score(marks.values())
    return {"rows": rows, "points": number(points, 0 if points == int(points) else 1), "count": count}
