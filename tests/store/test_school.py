"""People, sittings, answers and corrections: each act whole or not at all, nothing lost or counted twice."""

import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import msgspec
import pytest
from sqlalchemy import select

from lubberline.classroom.records import Answer, Correction
from lubberline.errors import InputError
from lubberline.store.answers import GRACE_S
from lubberline.store.database import tables
from lubberline.store.school import School
from tests.store.made import lesson_questions, paper_questions, taught


def rows_of(school: School, table) -> list:
    with school.transactions.engine.connect() as connection:
        return list(connection.execute(select(table)).mappings())


def test_questions_come_back_as_they_were_asked(school: School) -> None:
    group = school.people.add_group("Spring")
    made = school.sittings.add(group.id, "lesson", "Wander", lesson_questions(), source="text")
    found = school.sittings.sitting(made.id)
    assert found == made
    assert msgspec.json.encode(found.asked) == msgspec.json.encode(lesson_questions())
    assert school.sittings.listing(group.id) == (found,)


def test_the_last_answer_counts_and_the_way_to_it_is_kept(school: School) -> None:
    class_ = taught(school)
    ada = class_.students[0]
    for number, chosen in enumerate((2, 1)):
        school.answers.record(Answer(class_.lesson.id, ada.id, "step-2", chosen, sent=f"s{number}"))
    (kept,) = school.answers.of_sitting(class_.lesson.id)
    assert (kept.chosen, kept.student) == (1, ada.id)
    assert [row["chosen"] for row in rows_of(school, tables.sendings)] == [2, 1]


def test_the_same_sending_twice_counts_once_even_when_late(school: School) -> None:
    class_ = taught(school)
    ada = class_.students[0]
    first = school.answers.record(Answer(class_.lesson.id, ada.id, "step-2", 2, sent="one"))
    school.answers.record(Answer(class_.lesson.id, ada.id, "step-2", 0, sent="two"))
    school.sittings.move(class_.lesson.id, phase="closed")
    again = school.answers.record(Answer(class_.lesson.id, ada.id, "step-2", 2, sent="one"))
    assert again.answered_utc == first.answered_utc
    assert [one.chosen for one in school.answers.of_sitting(class_.lesson.id)] == [0]
    assert len(rows_of(school, tables.sendings)) == 2


@pytest.mark.parametrize(
    ("change", "key", "wrong"),
    [
        ({"phase": "closed"}, "step-2", "it is closed"),
        ({"phase": "shown"}, "step-2", "it is closed"),
        ({"step": 2}, "step-2", "it is closed"),
        ({"closed": True}, "step-2", "it is closed"),
        ({}, "step-4-1", "it is closed"),
        ({}, "step-9", "not in this paper"),
    ],
)
def test_a_closed_question_takes_no_answer(school: School, change: dict, key: str, wrong: str) -> None:
    class_ = taught(school)
    school.sittings.move(class_.lesson.id, **change)
    with pytest.raises(InputError, match=wrong):
        school.answers.record(Answer(class_.lesson.id, class_.students[0].id, key, sent="x"))
    assert school.answers.of_sitting(class_.lesson.id) == ()
    assert rows_of(school, tables.sendings) == []


def test_a_paper_takes_its_own_form_until_it_is_handed_in(school: School) -> None:
    class_ = taught(school)
    ada = class_.students[0]
    school.answers.record(Answer(class_.paper.id, ada.id, "A2", value=6.0, sent="a"))
    with pytest.raises(InputError, match="not in this paper"):
        school.answers.record(Answer(class_.paper.id, ada.id, "B1", value=6.0, sent="b"))
    school.sittings.hand_in(class_.paper.id, ada.id)
    with pytest.raises(InputError, match="handed in"):
        school.answers.record(Answer(class_.paper.id, ada.id, "A1", 0, sent="c"))
    stranger = school.people.add_student(class_.paper.group, "Zoe")
    with pytest.raises(InputError, match="not joined it"):
        school.answers.record(Answer(class_.paper.id, stranger.id, "A1", 0, sent="d"))


def test_time_ends_for_each_from_when_they_began(school: School) -> None:
    class_ = taught(school)
    paper = school.sittings.add(class_.paper.group, "paper", "Timed", paper_questions(), minutes=30.0)
    now = datetime.now(UTC)
    for student, late_s in zip(class_.students, (0.0, GRACE_S - 5.0, GRACE_S + 5.0), strict=True):
        began = now - timedelta(minutes=30, seconds=late_s)
        school.sittings.add_place(paper.id, student.id, "A", began_utc=began.strftime("%Y-%m-%dT%H:%M:%SZ"))
    on_time, just, late = (one.id for one in class_.students)
    school.answers.record(Answer(paper.id, on_time, "A1", 0, sent="a"))
    school.answers.record(Answer(paper.id, just, "A1", 0, sent="a"))
    with pytest.raises(InputError, match="time is up"):
        school.answers.record(Answer(paper.id, late, "A1", 0, sent="a"))


def test_one_browser_is_one_student_and_a_second_name_another(school: School) -> None:
    group = school.people.add_group("Spring")
    known = school.people.add_student(group.id, "Ada", "17")
    lesson = school.sittings.add(group.id, "lesson", "Wander", lesson_questions())
    first = school.sittings.enter(lesson.id, "ada", "17", "digest-1")
    assert first.student == known.id
    assert school.sittings.enter(lesson.id, "Ada", "17", "digest-1") == first
    second = school.sittings.enter(lesson.id, "Ada", "", "digest-2")
    assert second.student != known.id
    assert school.people.student(second.student).name == "Ada (2)"
    assert school.sittings.place_by_secret(lesson.id, "digest-2") == second
    assert school.sittings.place_by_secret(lesson.id, "") is None


def test_a_student_is_known_again_in_the_next_lesson(school: School) -> None:
    group = school.people.add_group("Spring")
    lessons = [school.sittings.add(group.id, "lesson", f"L{k}", lesson_questions()) for k in range(2)]
    places = [school.sittings.enter(one.id, "Ada", "", f"digest-{k}") for k, one in enumerate(lessons)]
    assert places[0].student == places[1].student
    assert len(school.people.students(group.id)) == 1


def test_a_code_joins_its_open_sitting_however_it_is_typed(school: School) -> None:
    class_ = taught(school)
    code = class_.lesson.code
    assert len(code) == 6
    for typed in (code, code.lower(), f" {code[:3]}-{code[3:]} "):
        found = school.sittings.by_code(typed)
        assert found is not None
        assert found.id == class_.lesson.id
    assert school.sittings.by_code("") is None
    school.sittings.move(class_.lesson.id, closed=True)
    assert school.sittings.by_code(code) is None


@pytest.mark.parametrize("name", ["", "   ", "\u200b", "x" * 61])
def test_a_name_that_is_none_is_refused(school: School, name: str) -> None:
    group = school.people.add_group("Spring")
    with pytest.raises(InputError, match="name"):
        school.people.add_student(group.id, name)


def test_corrections_stand_beside_the_answers_in_order(school: School) -> None:
    class_ = taught(school)
    ada = class_.students[0]
    school.answers.record(Answer(class_.paper.id, ada.id, "A1", 1, sent="a"))
    for before, after in (("B", "C"), ("C", "A")):
        school.answers.correct(
            Correction(class_.paper.id, ada.id, "A1", "N. N.", "", "misread", "chosen", before, after)
        )
    found = school.answers.corrections_of(class_.paper.id)
    assert [(one.before, one.after) for one in found] == [("B", "C"), ("C", "A")]
    assert all(one.at_utc for one in found)
    assert school.answers.of_sitting(class_.paper.id)[0].chosen == 1


def test_answers_from_paper_are_taken_all_or_none(school: School) -> None:
    class_ = taught(school)
    good = [Answer(class_.paper.id, one.id, "A1", 2) for one in class_.students]
    with pytest.raises(InputError):
        school.answers.put_all([*good, Answer(class_.paper.id, "nobody", "A1", 2)])
    assert school.answers.of_sitting(class_.paper.id) == ()
    school.answers.put_all(good)
    assert len(school.answers.of_sitting(class_.paper.id)) == 3


def test_many_answer_at_once_and_nothing_is_lost_or_doubled(opened: Callable[[], School]) -> None:
    """Threads of two openings of one database, each sending everything twice."""
    schools = [opened(), opened()]
    class_ = taught(schools[0], count=24)
    failures: list[BaseException] = []

    def answer(k: int) -> None:
        try:
            for chosen in range(4):
                given = Answer(
                    class_.lesson.id, class_.students[k].id, "step-2", chosen, sent=f"{k}-{chosen}"
                )
                for school in schools:
                    school.answers.record(given)
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=answer, args=(k,)) for k in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60.0)
    assert failures == []
    kept = schools[1].answers.of_sitting(class_.lesson.id)
    assert len(kept) == 24
    assert all(one.chosen == 3 for one in kept)
    assert len(rows_of(schools[0], tables.sendings)) == 96


def test_two_tabs_that_come_at_once_are_one_student(opened: Callable[[], School]) -> None:
    schools = [opened(), opened()]
    class_ = taught(schools[0])
    found: list[str] = []

    def come(school: School) -> None:
        found.append(school.sittings.enter(class_.lesson.id, "Ada", "", "the same digest").student)

    threads = [threading.Thread(target=come, args=(schools[k % 2],)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60.0)
    assert len(found) == 8
    assert len(set(found)) == 1


def test_the_log_keeps_what_was_typed_and_what_it_was_before(school: School) -> None:
    entry = school.log.add("ZZ-OAK", {"indicated": "27o"}, {"indicated_deg": None})
    school.log.add("ZZ-OAK", {"indicated": "275"}, {"indicated_deg": 275.0})
    school.log.correct(entry.id, "N. N.", "misread", {"indicated": "270"}, {"indicated_deg": 270.0})
    assert [one.typed["indicated"] for one in school.log.entries("ZZ-OAK")] == ["270", "275"]
    (change,) = school.log.trail("ZZ-OAK")
    assert (change.typed_before, change.by, change.why) == ({"indicated": "27o"}, "N. N.", "misread")
    assert school.log.aircraft_names() == ("ZZ-OAK",)
    with pytest.raises(InputError, match="no entry"):
        school.log.correct("none", "N. N.", "", {}, {})


def test_settings_are_kept_and_taken_away(school: School) -> None:
    assert school.settings.get("school_name") == ""
    school.settings.put("school_name", "Field school")
    school.settings.put("school_name", "Hangar school")
    assert school.settings.get("school_name") == "Hangar school"
    school.settings.put("school_name", "")
    assert school.settings.get("school_name") == ""
