"""Corrections: checked before they are kept, with who makes them and why."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lubberline.classroom.marking import COUNTS, STRUCK, answer_words, read_answer
from lubberline.classroom.records import Answer, Asked, Correction, Sitting
from lubberline.errors import InputError
from lubberline.publish.words import number
from lubberline.store.school import School
from lubberline.store.settings import SIGNED_BY
from lubberline.web.sittings.roll import marks_of, struck_in

LONGEST_WHY, LONGEST_BY = 300, 60


def asked_with(sitting: Sitting, key: str) -> Asked:
    """The question with this key.

    Raises:
        InputError: there is none.
    """
    found = next((one for one in sitting.asked if one.key == key), None)
    if found is None:
        raise InputError("question", f"there is no '{key[:20]}'", "choose one of the paper")
    return found


def _signed(school: School, fields: Mapping[str, str]) -> tuple[str, str]:
    by, why = (" ".join(fields.get(name, "").split()) for name in ("by", "why"))
    if not by or len(by) > LONGEST_BY:
        raise InputError("by", "nobody signs" if not by else "too long", "your name, at most 60 signs")
    if not why or len(why) > LONGEST_WHY:
        raise InputError(
            "why", "no reason is given" if not why else "too long", "a sentence, at most 300 signs"
        )
    if school.setting(SIGNED_BY) != by:
        school.set_setting(SIGNED_BY, by)
    return by, why


def correct_answer(school: School, sitting: Sitting, student: str, fields: Mapping[str, str]) -> Correction:
    """Puts an answer right as it was read, or the points given for it.

    Raises:
        InputError: by field, what is wrong.
    """
    asked = asked_with(sitting, fields.get("key", ""))
    own = marks_of(school, sitting).get(student, {})
    mark = own.get(asked.key)
    text = fields.get("after", "").strip()
    if fields.get("field", "") == "points":
        points = _points(text)
        before = number(mark.points, 2).rstrip("0").rstrip(".") if mark else "0"
        field, after = "points", f"{points:g}"
    else:
        chosen, value = read_answer(text, asked.item, "answer")
        before = answer_words(mark.answer, asked.item) if mark else "-"
        field = "value" if asked.item.kind == "number" else "chosen"
        after = answer_words(Answer(sitting.id, student, asked.key, chosen, value), asked.item)
    by, why = _signed(school, fields)
    if mark is None:
        # A correction needs something to correct: the question as it was left.
        school.record_many([Answer(sitting.id, student, asked.key)])
    made = Correction(sitting.id, student, asked.key, by, "", why, field, before, after)  # type: ignore[arg-type]
    return school.correct(made)


def _points(text: str) -> float:
    try:
        points = float(text.replace(",", "."))
    except ValueError:
        points = math.nan
    if not 0.0 <= points <= 1.0:
        raise InputError("points", f"'{text[:20]}'", "from 0 to 1")
    return points


def strike(school: School, sitting: Sitting, fields: Mapping[str, str]) -> Correction:
    """Strikes a question out for everybody, or lets it count again.

    Raises:
        InputError: by field, what is wrong.
    """
    key = asked_with(sitting, fields.get("key", "")).key
    by, why = _signed(school, fields)
    is_struck = key in struck_in(school, sitting)
    before, after = (STRUCK, COUNTS) if is_struck else (COUNTS, STRUCK)
    return school.correct(Correction(sitting.id, "", key, by, "", why, "struck", before, after))
