"""The students' pages under /sit: the paper, saved as they answer, and their marks after release.

Everything works with plain forms; script only saves each answer at once. What is shown of
a question is built from nothing but stem, drawing and options: keys, feedback, wrong ideas and slips are
never included, so that no template can reveal them.
"""

from collections.abc import Callable
from typing import Any

from lubberline.classroom.marking import answer_words, feedback_of, marked, score
from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, LateAnswer, Marked, Place, Sitting
from lubberline.flight.home import Home
from lubberline.publish.papers.answers import key_words, paragraphs, unit_words
from lubberline.questions.handwritten import said_at
from lubberline.questions.item import LETTERS
from lubberline.store.settings import RECORDS_ID
from lubberline.store.times import now_ms
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Refused,
    Request,
    Response,
    Route,
    School,
    as_json,
    get,
    go_to,
    home_for,
    page,
    post,
    records,
    required,
    run_in_threadpool,
)
from lubberline.web.questions.items import drawing
from lubberline.web.sendings import (
    For,
    Sending,
    acknowledged,
    answer_of,
    held,
    read_sending,
    refused,
    seated,
    whose,
)
from lubberline.web.sittings.join import digest_of, new_secret
from lubberline.web.sittings.late_answers import late_rows
from lubberline.web.sittings.roll import clock, is_over, left_s, points_words

MOST_FIELDS = 1_300


# The questions


def _given(answer: Answer) -> dict[str, Any]:
    """An answer as in the fields of the page."""
    value = "" if answer.value is None else f"{answer.value:g}"
    return {"key": answer.key, "chosen": answer.chosen, "value": value}


def _question(asked: Asked, place: int, answer: Answer | None) -> dict[str, Any]:
    """A question without its answer, and what this student has answered so far."""
    item = asked.item
    own = answer if answer is not None else Answer("", "", asked.key)
    return {
        **_given(own),
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


def _paper(sitting: Sitting, form: str, answers: dict[str, Answer]) -> list[dict[str, Any]]:
    """A student's paper."""
    own = sitting.asked_in(form)
    return [_question(asked, place, answers.get(asked.key)) for place, asked in enumerate(own, start=1)]


def _mended(sitting: Sitting, form: str, marks: dict[str, Marked], home: Home) -> dict[str, Any]:
    """A student's marks after release: each question with its right answer and feedback."""
    rows = []
    for place, asked in enumerate(sitting.asked_in(form), start=1):
        mark = marks.get(asked.key, Marked(Answer(sitting.id, "", asked.key), asked.item, 0.0))
        look = _question(asked, place, mark.answer)
        item = said_at(home, asked.item)
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
    return {"rows": rows, "points": points_words(points), "count": count}


# The page


def _is_released(sitting: Sitting) -> bool:
    """Whether students may see their marks: closed, and released by the instructor."""
    return bool(sitting.closed_utc) and sitting.phase == "shown"


def _paper_of(request: Request) -> tuple[School, Sitting, Place | None]:
    """The records, the paper in an address, and this browser's place in it.

    Raises:
        Refused: there is none; the same for a lesson's id.
    """
    school, id = records(request), request.path_params["sitting"]
    try:
        sitting = school.sittings.sitting(id)
    except InputError as error:
        if error.code != "no-sitting":
            raise
        sitting = None
    if sitting is None or sitting.kind != "paper" or sitting.on_paper:
        right = "ask for the code and join with it"
        raise Refused(404, "address", "there is no paper here", right, "no-sitting")
    return school, sitting, school.sittings.place_by_secret(id, digest_of(request))


def _own_answers(school: School, place: Place) -> dict[str, Answer]:
    """A student's answers to a sitting by question."""
    given = school.answers.of_student(place.student)
    return {one.key: one for one in given if one.sitting == place.sitting}


def show(request: Request, typed: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /sit/SITTING: the paper, what was answered, or the marks; without a place, join first."""
    school, sitting, place = _paper_of(request)
    if place is None:
        return go_to("/join")
    answers = _own_answers(school, place)
    base: dict[str, Any] = {
        "sitting_id": sitting.id,
        "title": sitting.title,
        "who": school.people.student(place.student).name,
        "form": place.form,
        "whose": whose(school.settings.get(RECORDS_ID), sitting.id, place.student),
        "late": late_rows(school, sitting, place.student),
    }
    if _is_released(sitting):
        marks = marked(sitting, tuple(answers.values()), school.answers.corrections_of(sitting.id))
        seen = _mended(sitting, place.form, {mark.answer.key: mark for mark in marks}, home_for(request))
        return page(request, "sittings/marks.html", error, **base, **seen, questions=seen["rows"])
    questions = _paper(sitting, place.form, answers)
    if is_over(sitting, place):
        why = "closed" if sitting.closed_utc else "handed in" if place.ended_utc else "time"
        return page(request, "sittings/over.html", error, **base, questions=questions, why=why)
    for question in questions:
        if question["kind"] == "number":
            question["value"] = typed.get(question["key"], question["value"])
    seconds_left = left_s(sitting, place)
    count = sum(not one["blank"] for one in questions)
    return page(
        request,
        "sittings/paper.html",
        error,
        **base,
        questions=questions,
        left_s=seconds_left,
        left=clock(seconds_left),
        given=count,
        ending=request.query_params.get("ending") == "1" and count < len(questions),
        minutes=(place.limit_s(sitting) or 0.0) / 60.0,
    )


def _blanks(school: School, sitting: Sitting, place: Place) -> int:
    """How many questions of a student's paper have no answer."""
    own = _own_answers(school, place)
    return sum(one.key not in own or own[one.key].blank for one in sitting.asked_in(place.form))


def keep(request: Request, form: Form) -> Response:
    """POST /sit/SITTING/keep: the whole paper as a plain form; `do=hand in` ends it, once asked.

    Raises:
        Refused: this browser has not joined it.
    """
    school, sitting, place = _paper_of(request)
    if place is None:
        right = "join with the code first"
        raise Refused(403, "sitting", "this browser has not joined it", right, "no-place")
    before = _own_answers(school, place)
    wrong: InputError | None = None
    for asked in sitting.asked_in(place.form):
        if asked.key not in form:
            continue
        try:
            given = _of_field(asked, sitting, place.student, form[asked.key])
            old = before.get(asked.key, Answer(sitting.id, place.student, asked.key))
            if (given.chosen, given.value) != (old.chosen, old.value):
                school.answers.record(given)
        except InputError as error:
            where = f"question {asked.key}" if error.where == "answer" else error.where
            wrong = wrong or InputError(where, error.wrong, error.right, error.code)
    if wrong:
        return show(request, form, wrong)
    if form.get("do") == "hand in" and _blanks(school, sitting, place):
        return go_to(f"/sit/{sitting.id}?ending=1")
    if form.get("do") in ("hand in", "hand in now"):
        school.sittings.hand_in(sitting.id, place.student)
        return go_to(f"/sit/{sitting.id}")
    return go_to(f"/sit/{sitting.id}", "kept")


def _of_field(asked: Asked, sitting: Sitting, student: str, text: str) -> Answer:
    index = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else NOT_CHOSEN
    sending = Sending(new_secret(), For("", sitting.id, student), chosen=index, value=text)
    return answer_of(sending, asked, sitting, student)


# What the page's script sends and asks


def _sent(path: str, act: Callable[[School, Sitting, Place, Sending], Response]) -> Route:
    """Carries out a device's sending for its student."""

    def done(request: Request, sending: Sending) -> Response:
        school, id = records(request), request.path_params["sitting"]
        try:
            sitting, place = seated(school.sittings.seat(id, digest_of(request)), sending, id, "paper")
            return act(school, sitting, place, sending)
        except InputError as error:
            return refused(sending, error)

    async def answer(request: Request) -> Response:
        return await run_in_threadpool(done, request, await read_sending(request))

    return Route(path, answer, methods=["POST"])


def _keep_answer(school: School, sitting: Sitting, place: Place, sending: Sending) -> Response:
    """POST /sit/SITTING/answer: one answer from script, acknowledged only once saved."""
    asked = required(
        next((one for one in sitting.asked_in(place.form) if one.key == sending.key), None),
        InputError("question", "not in this paper", "answer one of those shown"),
    )
    given = answer_of(sending, asked, sitting, place.student)
    kept = school.answers.receive(given, sending.given)
    if isinstance(kept, LateAnswer):
        return acknowledged(sending, "late", {"key": given.key})
    told = {"key": kept.key, "blank": kept.blank, "left_s": left_s(sitting, place)}
    return acknowledged(sending, "kept", told)


def _hand_in(school: School, sitting: Sitting, place: Place, sending: Sending) -> Response:
    """POST /sit/SITTING/hand-in: hands in; the page has asked about blank questions."""
    school.sittings.hand_in(sitting.id, place.student)
    return acknowledged(sending, "kept", {})


def state(request: Request) -> Response:
    """GET /sit/SITTING/state: the time left, the saved answers, and whether the page has changed."""
    school = records(request)
    try:
        sitting, place = held(
            school.sittings.seat(request.path_params["sitting"], digest_of(request)), "paper"
        )
    except InputError as error:
        return refused(None, error)
    return as_json(
        {
            "left_s": left_s(sitting, place),
            "over": is_over(sitting, place),
            "released": _is_released(sitting),
            "given": [_given(one) for one in _own_answers(school, place).values() if not one.blank],
            "now_ms": now_ms(),
        }
    )


ROUTES = [
    get("/sit/{sitting}", show),
    _sent("/sit/{sitting}/answer", _keep_answer),
    _sent("/sit/{sitting}/hand-in", _hand_in),
    post("/sit/{sitting}/keep", keep, most_fields=MOST_FIELDS),
    get("/sit/{sitting}/state", state),
]
