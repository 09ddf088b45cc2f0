"""Answers from paper: typed in student by student, or read from a file.

Good answers are saved, errors reported.
"""

from collections.abc import Mapping, Sequence

from lubberline.classroom.answers_csv import Read, read_answers
from lubberline.classroom.marking import read_answer
from lubberline.classroom.records import Answer, Place, Sitting
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Request,
    Response,
    School,
    SentFile,
    get,
    go_to,
    page,
    post,
)
from lubberline.web.sittings.join import form_for_next, next_form
from lubberline.web.sittings.new_sitting import MOST_ASKED
from lubberline.web.sittings.roll import answer_rows, in_order, marks_of, place_of, sitting_of

CSV_LIMIT_BYTES = 4_000_000
NONE_WRONG: Mapping[str, InputError] = {}


def check_typable(sitting: Sitting) -> None:
    """Checks that answers may be typed in: the sitting is on paper and open.

    Raises:
        InputError: it is on phones, or closed.
    """
    if not sitting.on_paper:
        raise InputError(
            "sitting", "its answers come from the students' own phones", "correct an answer instead"
        )
    if sitting.closed_utc:
        raise InputError("sitting", "it is closed", "reopen it, or correct an answer")


def add_person(school: School, sitting: Sitting, fields: Mapping[str, str]) -> Place:
    """Adds a student of the class, or a new one, to a sitting on paper.

    Raises:
        InputError: no name, or no such form.
    """
    check_typable(sitting)
    form = fields.get("form", "").strip()
    forms = sitting.forms
    if form and form not in forms:
        raise InputError("form", f"there is no form '{form[:10]}'", ", ".join(forms) or "leave it empty")
    student = fields.get("student", "")
    if not student:
        name = fields.get("name", "")
        student = school.people.add_student(sitting.group, name, fields.get("number", "").strip()).id
    elif school.people.student(student).group != sitting.group:
        raise InputError("student", "belongs to another class", "choose one of this class")
    return school.sittings.add_place(
        sitting.id, student, form or form_for_next(sitting, school.sittings.places(sitting.id))
    )


def seat_all(school: School, sitting: Sitting) -> None:
    """Adds the whole class to a sitting on paper, by name, with forms in turn."""
    check_typable(sitting)
    here = {place.student for place in school.sittings.places(sitting.id)}
    dealt = [place.form for place in school.sittings.places(sitting.id)]
    for student in school.people.students(sitting.group):
        if student.id not in here:
            dealt.append(next_form(sitting.forms, dealt, dealt[-1] if dealt else ""))
            school.sittings.add_place(sitting.id, student.id, dealt[-1])


def type_answers(
    school: School, sitting: Sitting, place: Place, fields: Mapping[str, str]
) -> dict[str, InputError]:
    """Saves the typed answers of one student; returns those that could not be read, by question key."""
    check_typable(sitting)
    before = {one.key: one for one in school.answers.of_sitting(sitting.id) if one.student == place.student}
    answers: list[Answer] = []
    refused: dict[str, InputError] = {}
    for asked in sitting.asked_in(place.form):
        text = fields.get(asked.key, "")
        try:
            chosen, value = read_answer(text, asked.item, f"question {asked.key}")
        except InputError as error:
            refused[asked.key] = error
            continue
        old = before.get(asked.key)
        if old is None or (old.chosen, old.value) != (chosen, value):
            answers.append(Answer(sitting.id, place.student, asked.key, chosen, value))
    if answers:
        school.answers.put_all(answers)
    return refused


def next_to_type(places: Sequence[Place], after: str) -> str:
    """The student after this one in these places; '' after the last."""
    order = [place.student for place in places]
    following = order[order.index(after) + 1 :] if after in order else []
    return following[0] if following else ""


def keep_file(school: School, sitting: Sitting, file: SentFile | None) -> Read:
    """Saves the good lines of a CSV file of answers and returns the others.

    Raises:
        InputError: no file was chosen, or it is not a file of answers.
    """
    check_typable(sitting)
    if file is None:
        raise InputError("file", "none was chosen", "choose a CSV file: student,question,answer")
    found = read_answers(file.name, file.text, sitting, school.people.students(sitting.group))
    for student in dict.fromkeys(one.student for one in found.answers):
        school.sittings.add_place(sitting.id, student, found.forms.get(student, ""))
    school.answers.put_all(found.answers)
    return found


# The pages


def show_typing(
    request: Request, wrong: Mapping[str, InputError] = NONE_WRONG, typed: Form = NO_FORM
) -> Response:
    """GET /sittings/ID/type/STUDENT: fields for the answers on one student's paper."""
    school, sitting, place = place_of(request)
    check_typable(sitting)
    own = marks_of(school, sitting).get(place.student, {})
    rows = answer_rows(sitting, sitting.asked_in(place.form), own, frozenset())
    for row in rows:
        row["typed"] = typed.get(row["key"], "" if row["said"] == "-" else row["said"])
        row["wrong"] = row["key"] in wrong
    order = [one.student for one in in_order(school, sitting)]
    return page(
        request,
        "sittings/type.html",
        status=422 if wrong else 200,
        sitting=sitting,
        student=school.people.student(place.student),
        place=place,
        rows=rows,
        wrong=tuple(wrong.values()),
        turn=order.index(place.student) + 1,
        turns=len(order),
    )


def keep_typed(request: Request, form: Form) -> Response:
    """POST /sittings/ID/type/STUDENT: saves the answers, then shows the next student."""
    school, sitting, place = place_of(request)
    wrong = type_answers(school, sitting, place, form)
    if wrong:
        return show_typing(request, wrong, form)
    following = next_to_type(in_order(school, sitting), place.student)
    is_last = not following or form.get("do") == "keep"
    return go_to(f"/sittings/{sitting.id}{'' if is_last else f'/type/{following}'}", "typed")


def add_people(request: Request, form: Form) -> Response:
    """POST /sittings/ID/people: adds one student, or the whole class, to a sitting on paper."""
    school, sitting = sitting_of(request)
    if form.get("do") == "all":
        seat_all(school, sitting)
        return go_to(f"/sittings/{sitting.id}", "added")
    place = add_person(school, sitting, form)
    return go_to(f"/sittings/{sitting.id}/type/{place.student}")


_TYPE = "/sittings/{sitting}/type/{student}"
ROUTES = [
    post("/sittings/{sitting}/people", add_people),
    get(_TYPE, show_typing),
    post(_TYPE, keep_typed, most_fields=MOST_ASKED),
]
