"""Answers from paper, typed in student by student: what is right is kept, what is not is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lubberline.classroom.marking import read_answer
from lubberline.classroom.records import Answer, Place, Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.sittings.join import form_for_next, next_form
from lubberline.web.sittings.shown import asked_in


def check_typable(sitting: Sitting) -> None:
    """Answers are typed into a sitting on paper while it is open.

    Raises:
        InputError: it is taken on phones, or it is closed.
    """
    if not sitting.on_paper:
        raise InputError("sitting", "its answers come from the students' own phones", "correct one instead")
    if sitting.closed_utc:
        raise InputError("sitting", "it is closed", "open it again, or correct an answer")


def add_person(school: School, sitting: Sitting, fields: Mapping[str, str]) -> Place:
    """Puts a student of the class, or a new one, into a sitting on paper.

    Raises:
        InputError: nobody is named, or there is no such form.
    """
    check_typable(sitting)
    form = fields.get("form", "").strip()
    forms = sitting.forms
    if form and form not in forms:
        raise InputError("form", f"there is no form '{form[:10]}'", ", ".join(forms) or "leave it empty")
    student = fields.get("student", "")
    if not student:
        name = fields.get("name", "")
        student = school.add_student(sitting.group, name, fields.get("number", "").strip()).id
    elif school.student(student).group != sitting.group:
        raise InputError("student", "is of another class", "choose one of this class")
    return school.add_place(sitting.id, student, form or form_for_next(sitting, school.places(sitting.id)))


def seat_all(school: School, sitting: Sitting) -> None:
    """Puts the whole class into a sitting on paper, by name, forms dealt one after the other."""
    check_typable(sitting)
    here = {place.student for place in school.places(sitting.id)}
    dealt = [place.form for place in school.places(sitting.id)]
    for student in school.students(sitting.group):
        if student.id not in here:
            dealt.append(next_form(sitting.forms, dealt, dealt[-1] if dealt else ""))
            school.add_place(sitting.id, student.id, dealt[-1])


def type_answers(
    school: School, sitting: Sitting, place: Place, fields: Mapping[str, str]
) -> dict[str, InputError]:
    """Keeps what was typed for one student; gives back what could not be read, by the question's key."""
    check_typable(sitting)
    before = {one.key: one for one in school.answers(sitting.id) if one.student == place.student}
    answers: list[Answer] = []
    refused: dict[str, InputError] = {}
    for asked in asked_in(sitting, place.form):
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
        school.record_many(answers)
    return refused


def next_to_type(places: Sequence[Place], after: str) -> str:
    """The student after this one in these places; '' after the last."""
    order = [place.student for place in places]
    following = order[order.index(after) + 1 :] if after in order else []
    return following[0] if following else ""
