"""One student's answers, and corrections: an answer, its points, a question, the time, the place.

Corrections are checked and saved with who made them and why.
"""

from collections.abc import Mapping

from lubberline.classroom.marking import COUNTS, STRUCK, answer_words, read_answer, read_option
from lubberline.classroom.records import Answer, Asked, Correction, Sitting
from lubberline.publish.words import number
from lubberline.store.settings import SIGNED_BY
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Request,
    Response,
    School,
    get,
    go_to,
    number_in,
    page,
    post,
    required,
)
from lubberline.web.sittings.late_answers import late_rows
from lubberline.web.sittings.new_sitting import minutes_of
from lubberline.web.sittings.roll import answer_rows, marks_of, place_of, sitting_of, struck_in, trail_words

LONGEST_WHY, LONGEST_BY = 300, 60


def asked_with(sitting: Sitting, key: str) -> Asked:
    """The question with this key.

    Raises:
        InputError: there is none.
    """
    return required(
        next((one for one in sitting.asked if one.key == key), None),
        InputError("question", f"there is no '{key[:20]}'", "choose one from the paper"),
    )


def _signed(school: School, fields: Mapping[str, str]) -> tuple[str, str]:
    by, why = (" ".join(fields.get(name, "").split()) for name in ("by", "why"))
    if not by or len(by) > LONGEST_BY:
        raise InputError(
            "by", "no signature" if not by else "too long", "enter your name, at most 60 characters"
        )
    if not why or len(why) > LONGEST_WHY:
        raise InputError(
            "why", "no reason given" if not why else "too long", "enter a sentence, at most 300 characters"
        )
    if school.settings.get(SIGNED_BY) != by:
        school.settings.put(SIGNED_BY, by)
    return by, why


def correct_answer(school: School, sitting: Sitting, student: str, fields: Mapping[str, str]) -> Correction:
    """Corrects an answer or its points.

    Raises:
        InputError: for a wrong field.
    """
    asked = asked_with(sitting, fields.get("key", ""))
    mark = marks_of(school, sitting).get(student, {}).get(asked.key)
    text = fields.get("after", "").strip()
    if fields.get("field", "") == "points":
        points = _points(text)
        before = number(mark.points, 2).rstrip("0").rstrip(".") if mark else "0"
        field, after = "points", f"{points:g}"
    else:
        read = read_option if sitting.kind == "lesson" else read_answer
        chosen, value = read(text, asked.item, "answer")
        before = answer_words(mark.answer, asked.item) if mark else "-"
        field = "value" if asked.item.kind == "number" else "chosen"
        after = answer_words(Answer(sitting.id, student, asked.key, chosen, value), asked.item)
    by, why = _signed(school, fields)
    if mark is None:
        # A correction needs a record to correct: the blank answer.
        school.answers.put_all([Answer(sitting.id, student, asked.key)])
    made = Correction(sitting.id, student, asked.key, by, "", why, field, before, after)  # type: ignore[arg-type]
    return school.answers.correct(made)


def _points(text: str) -> float:
    points = number_in(text)
    if not 0.0 <= points <= 1.0:
        raise InputError("points", f"'{text[:20]}'", "enter a number from 0 to 1")
    return points


def strike_out(school: School, sitting: Sitting, fields: Mapping[str, str]) -> Correction:
    """Strikes a question out for everybody, or counts it again.

    Raises:
        InputError: for a wrong field.
    """
    key = asked_with(sitting, fields.get("key", "")).key
    by, why = _signed(school, fields)
    before, after = (STRUCK, COUNTS) if (key in struck_in(school, sitting)) else (COUNTS, STRUCK)
    return school.answers.correct(Correction(sitting.id, "", key, by, "", why, "struck", before, after))


# The pages


def show(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /sittings/ID/students/STUDENT: one student's answers, with forms to correct them."""
    school, sitting, place = place_of(request)
    own = marks_of(school, sitting).get(place.student, {})
    asked = sitting.asked_in(place.form)
    keys = {one.key for one in asked}
    return page(
        request,
        "sittings/answers.html",
        error,
        sitting=sitting,
        student=school.people.student(place.student),
        place=place,
        rows=answer_rows(sitting, asked, own, struck_in(school, sitting)),
        trail=[
            trail_words(sitting, one)
            for one in school.answers.corrections_of(sitting.id)
            if one.student in ("", place.student) and one.key in keys
        ],
        signed_by=school.settings.get(SIGNED_BY),
        late=late_rows(school, sitting, place.student),
        chosen_key=request.query_params.get("key", ""),
    )


def correct(request: Request, form: Form) -> Response:
    """POST /sittings/ID/students/STUDENT: a correction of an answer or of its points."""
    school, sitting, place = place_of(request)
    correct_answer(school, sitting, place.student, form)
    return go_to(f"/sittings/{sitting.id}/students/{place.student}", "corrected")


def release(request: Request, form: Form) -> Response:
    """POST /sittings/ID/students/STUDENT/release: the student may join again from another browser."""
    school, sitting, place = place_of(request)
    school.sittings.release(sitting.id, place.student)
    return go_to(f"/sittings/{sitting.id}", "released-place")


def give_time(request: Request, form: Form) -> Response:
    """POST /sittings/ID/students/STUDENT/time: extra minutes for this student only."""
    school, sitting, place = place_of(request)
    school.sittings.give_time(sitting.id, place.student, minutes_of(form.get("extra_min", ""), "extra time"))
    return go_to(f"/sittings/{sitting.id}", "gave-time")


def strike(request: Request, form: Form) -> Response:
    """POST /sittings/ID/strike: strikes a question out for everybody, or counts it again."""
    school, sitting = sitting_of(request)
    strike_out(school, sitting, form)
    return go_to(f"/sittings/{sitting.id}", "corrected")


_STUDENT = "/sittings/{sitting}/students/{student}"
ROUTES = [
    post("/sittings/{sitting}/strike", strike),
    get(_STUDENT, show),
    post(_STUDENT, correct, show),
    post(f"{_STUDENT}/release", release),
    post(f"{_STUDENT}/time", give_time, show),
]
