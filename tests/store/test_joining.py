"""Coming into a sitting: who is who, codes, and being let in again."""

import threading
from collections.abc import Callable

import pytest

from lubberline.classroom.records import Sitting
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.sittings import CODE_LETTERS
from tests.store.made import lesson_questions, paper_questions, taught

EARLY = "2020-01-01T00:00:00Z"


def a_lesson(school: School) -> Sitting:
    group = school.people.add_group("Spring")
    return school.sittings.add(group.id, "lesson", "Wander", lesson_questions())


def test_nobody_takes_the_place_of_somebody_in_the_room(school: School) -> None:
    lesson = a_lesson(school)
    ada = school.sittings.enter(lesson.id, "Ada", "17", "digest-1")
    for number, (name, typed) in enumerate((("Ada", "17"), ("ADA", ""), ("Bo", "17"))):
        other = school.sittings.enter(lesson.id, name, typed, f"other-{number}")
        assert other.student != ada.student
        assert school.people.student(other.student).number == ""
    names = [one.name for one in school.people.students(lesson.group)]
    assert names == ["Ada", "Ada (2)", "ADA (3)", "Bo"]
    assert school.sittings.place_by_secret(lesson.id, "digest-1") == ada


def test_places_stand_in_the_order_of_joining_within_a_second_too(school: School) -> None:
    lesson = a_lesson(school)
    # Known students join in another order than the class's; a clock that is set back changes nothing.
    known = [school.people.add_student(lesson.group, f"Known {number}") for number in range(6)]
    wanted: list[str] = []
    for number in (4, 1, 5, 0, 3, 2):
        wanted.append(school.sittings.enter(lesson.id, f"Known {number}", "", f"digest {number}").student)
        wanted.append(school.sittings.enter(lesson.id, f"New {number}", "", f"new {number}").student)
        assert [one.student for one in school.sittings.places(lesson.id)] == wanted
    late = school.people.add_student(lesson.group, "Late")
    early = school.sittings.add_place(lesson.id, late.id, "", EARLY)
    assert [one.student for one in school.sittings.places(lesson.id)] == [*wanted, early.student]
    assert {one.id for one in known} < set(wanted)


def test_a_number_says_who_somebody_is_whatever_name_they_give(school: School) -> None:
    first, second = a_lesson(school), None
    ada = school.sittings.enter(first.id, "Ada", "17", "digest-1")
    second = school.sittings.add(first.group, "lesson", "Air", lesson_questions())
    # A name alone is not enough for somebody who has a number.
    assert school.sittings.enter(second.id, "Ada", "", "digest-2").student != ada.student
    assert school.sittings.enter(second.id, "A.", "17", "digest-3").student == ada.student
    assert [one.sitting for one in school.sittings.places_of(ada.student)] == sorted(
        (first.id, second.id), key=[one.sitting for one in school.sittings.places_of(ada.student)].index
    )
    assert {one.sitting for one in school.sittings.places_of(ada.student)} == {first.id, second.id}


def test_who_is_let_in_again_keeps_the_place(school: School) -> None:
    lesson = a_lesson(school)
    ada = school.sittings.enter(lesson.id, "Ada", "", "lost telephone")
    school.sittings.release(lesson.id, ada.student)
    assert school.sittings.place_by_secret(lesson.id, "lost telephone") is None
    again = school.sittings.enter(lesson.id, "Ada", "", "new telephone")
    assert (again.student, again.began_utc) == (ada.student, ada.began_utc)
    assert school.sittings.place_by_secret(lesson.id, "new telephone") == again
    assert len(school.sittings.places(lesson.id)) == 1
    with pytest.raises(InputError, match="not joined it"):
        school.sittings.release(lesson.id, "nobody")


def test_extra_time_is_kept_for_one_and_checked(school: School) -> None:
    lesson = a_lesson(school)
    ada = school.sittings.enter(lesson.id, "Ada", "", "digest-1")
    with pytest.raises(InputError, match="no time limit"):
        school.sittings.give_time(lesson.id, ada.student, 5.0)
    paper = school.sittings.add(lesson.group, "paper", "Test", lesson_questions(), minutes=30.0)
    here = school.sittings.add_place(paper.id, ada.student)
    assert (here.extra_min, here.limit_s(paper)) == (0.0, 1800.0)
    assert school.sittings.give_time(paper.id, ada.student, 7.5).limit_s(paper) == 2250.0
    assert [one.extra_min for one in school.sittings.places(paper.id)] == [7.5]
    for wrong in (-1.0, float("nan"), float("inf"), 1e6):
        with pytest.raises(InputError, match="extra time"):
            school.sittings.give_time(paper.id, ada.student, wrong)
    with pytest.raises(InputError, match="not joined it"):
        school.sittings.give_time(paper.id, "nobody", 5.0)


def test_a_closed_sitting_lets_nobody_in_but_knows_who_was(school: School) -> None:
    lesson = a_lesson(school)
    ada = school.sittings.enter(lesson.id, "Ada", "", "digest-1")
    school.sittings.move(lesson.id, closed=True)
    assert school.sittings.enter(lesson.id, "Ada", "", "digest-1") == ada
    with pytest.raises(InputError, match="it is closed"):
        school.sittings.enter(lesson.id, "Bo", "", "digest-2")


def test_a_number_is_one_persons(school: School) -> None:
    group = school.people.add_group("Spring")
    ada = school.people.add_student(group.id, "Ada", " 17 ")
    bo = school.people.add_student(group.id, "Bo")
    assert ada.number == "17"
    for act in (
        lambda: school.people.add_student(group.id, "Cy", "17"),
        lambda: school.people.rename(bo.id, "Bo", "17"),
    ):
        with pytest.raises(InputError, match="has 17"):
            act()
    assert school.people.rename(ada.id, "Ada B.", "17").name == "Ada B."
    other = school.people.add_group("Autumn")
    assert school.people.add_student(other.id, "Dee", "17").number == "17"


def test_names_are_kept_as_text(school: School) -> None:
    """What a page must escape comes back as it was typed; what no text holds is refused or left out."""
    group = school.people.add_group("Spring")
    for name in ("<script>alert(1)</script>", "Robert'); drop table students;--", "Zoë Ωmega 陈"):
        assert school.people.student(school.people.add_student(group.id, name).id).name == name
    assert school.people.add_student(group.id, "A\u202eda\0\n B\ud800").name == "Ada B"


def test_codes_are_plain_and_each_opens_one_sitting(school: School) -> None:
    group = school.people.add_group("Spring")
    made = [school.sittings.add(group.id, "lesson", f"L{k}", lesson_questions()) for k in range(5)]
    assert len({one.code for one in made}) == 5
    assert all(set(one.code) <= set(CODE_LETTERS) for one in made)
    with pytest.raises(InputError, match="another open sitting"):
        school.sittings.move(made[0].id, code=made[1].code)
    # Given to a closed sitting, or to one that nobody joins any more, it may be used again.
    school.sittings.move(made[1].id, closed=True)
    assert school.sittings.move(made[0].id, code=made[1].code).code == made[1].code
    reopened = school.sittings.move(made[1].id, closed=False)
    assert reopened.closed_utc == ""
    assert reopened.code not in ("", made[1].code)
    assert school.sittings.move(made[2].id, code="").code == ""


def test_closing_twice_is_closing_once(school: School) -> None:
    group = school.people.add_group("Spring")
    closed_utc = "2026-01-05T10:40:00Z"
    closed = Sitting("p", group.id, "paper", "T", "2026-01-05T10:00:00Z", closed_utc=closed_utc)
    school.sittings.put(closed)
    assert school.sittings.move("p", closed=True) == closed
    assert school.sittings.sitting("p") == closed


@pytest.mark.parametrize(
    ("change", "wrong"),
    [({"phase": "ajar"}, "phase"), ({"step": -2}, "step"), ({"step": 10**9}, "step")],
)
def test_a_sitting_is_not_moved_to_where_it_cannot_be(school: School, change: dict, wrong: str) -> None:
    lesson = a_lesson(school)
    with pytest.raises(InputError, match=wrong):
        school.sittings.move(lesson.id, **change)
    assert school.sittings.sitting(lesson.id) == lesson


def test_a_sitting_that_is_none_is_refused(school: School) -> None:
    group = school.people.add_group("Spring")
    twice = (paper_questions()[0], paper_questions()[0])
    for given, wrong in (
        (("none", "paper", "T", ()), "class"),
        ((group.id, "exam", "T", ()), "kind"),
        ((group.id, "paper", "", ()), "title"),
        ((group.id, "paper", "T", twice), "same key"),
        ((group.id, "paper", "T", (), "a\0b"), "source"),
        ((group.id, "paper", "T", (), "", float("nan")), "minutes"),
        ((group.id, "paper", "T", (), "", -1.0), "minutes"),
    ):
        with pytest.raises(InputError, match=wrong):
            school.sittings.add(*given)
    assert school.sittings.listing() == ()


def test_a_place_is_for_a_student_of_the_class(school: School) -> None:
    class_, other = taught(school), taught(school)
    with pytest.raises(InputError, match="another class"):
        school.sittings.add_place(class_.paper.id, other.students[0].id, "A")
    with pytest.raises(InputError, match="no student with this id"):
        school.sittings.add_place(class_.paper.id, "nobody", "A")
    with pytest.raises(InputError, match="sitting"):
        school.sittings.add_place("none", class_.students[0].id, "A")


def test_many_who_come_at_once_are_each_one_student(opened: Callable[[], School]) -> None:
    """Two servers, thirty telephones, each trying twice, half of them of the same name."""
    schools = [opened(), opened()]
    lesson = a_lesson(schools[0])
    failures: list[BaseException] = []

    def come(k: int) -> None:
        try:
            for school in schools:
                school.sittings.enter(lesson.id, "Ada" if k % 2 else f"S{k}", "", f"digest-{k}")
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=come, args=(k,)) for k in range(30)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60.0)
    assert failures == []
    assert len(schools[0].sittings.places(lesson.id)) == 30
    assert len({one.name for one in schools[0].people.students(lesson.group)}) == 30
