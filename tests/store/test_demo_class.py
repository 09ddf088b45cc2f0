"""The demo class holds nobody who is real, and takes nobody along when it is deleted."""

from datetime import UTC, datetime

import pytest

from lubberline.classroom.demo_class import DemoClass, DemoStudent, PlannedSitting
from lubberline.classroom.demo_term import GROUP, Term
from lubberline.classroom.records import Answer, Correction, Group, Place, Sitting, Student
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import DEMO_CLASS, DEMO_OWN
from tests.store.made import paper_questions, taught
from tests.store.test_bin import records

WHEN = datetime(2026, 1, 12, 18, 0, tzinfo=UTC)
UTC_TEXT = "2026-01-12T18:00:00Z"
NAMES = ("Alder", "Bryony")
PLAN = DemoClass(
    title="Demo",
    instructor="N",
    seed=1,
    student=tuple(DemoStudent(name) for name in NAMES),
    sitting=tuple(PlannedSitting(WHEN, title) for title in ("First", "Second")),
)


def term() -> Term:
    students = tuple(Student(f"s{n}", GROUP, name, str(n)) for n, name in enumerate(NAMES, start=1))
    sittings = tuple(
        Sitting(
            title, GROUP, "paper", title, UTC_TEXT, UTC_TEXT, paper_questions(), phase="closed", on_paper=True
        )
        for title in ("First", "Second")
    )
    pairs = [(sitting.id, student.id) for sitting in sittings for student in students]
    places = tuple(Place(*pair, "A", UTC_TEXT) for pair in pairs)
    answers = tuple(Answer(*pair, "A1", 1, answered_utc=UTC_TEXT, sent=f"{pair}") for pair in pairs)
    struck = Correction("First", "", "A1", "N", UTC_TEXT, "w", "struck", "counts", "struck")
    return Term("Demo", students, sittings, places, answers, (struck,), {})


def as_an_older_program_left_it(school: School) -> tuple[Group, Student, Sitting]:
    """Somebody real in the demo class, with a sitting of their own; nobody noted what is the demo's."""
    group = school.demo.add(term())
    for name in (DEMO_CLASS, DEMO_OWN):
        school.settings.put(name, "")
    real = school.people.add_student(group.id, "Real")
    own = school.sittings.add(group.id, "paper", "Own", paper_questions())
    school.sittings.enter(own.id, "Real", "", "digest", "A")
    school.answers.record(Answer(own.id, real.id, "A1", 2, sent="mine"))
    school.settings.put(DEMO_CLASS, group.id)
    return group, real, own


def test_nobody_real_gets_in(school: School) -> None:
    group = school.demo.add(term())
    sitting = school.sittings.listing(group.id)[0]
    school.sittings.move(sitting.id, closed=False)
    for act in (
        lambda: school.people.add_student(group.id, "Real"),
        lambda: school.sittings.add(group.id, "paper", "Own", paper_questions()),
        lambda: school.sittings.enter(sitting.id, "Real", "", "digest"),
        lambda: school.sittings.enter(sitting.id, "Alder", "1", "digest"),
    ):
        with pytest.raises(InputError, match="invented students only"):
            act()
    assert [one.name for one in school.people.students(group.id)] == list(NAMES)
    # Marks of those in it may be typed as ever.
    alder = school.people.students(group.id)[0].id
    school.answers.put_all([Answer(sitting.id, alder, "A2", value=3.0)])


def test_it_goes_and_comes_back_alone(school: School) -> None:
    taught(school)
    before = records(school)
    group = school.demo.add(term())
    with_it = records(school)
    school.demo.settle(PLAN)
    assert records(school) == with_it
    goes = school.bin.deletable("class", group.id)
    assert (goes.kind, goes.words) == (
        "demo",
        "1 class, 2 students, 2 sittings, 4 answers, 1 correction",
    )
    gone = school.bin.delete("class", group.id)
    assert records(school) == before
    assert school.demo.find() is None
    school.bin.bring_back(gone.id)
    assert records(school) == with_it
    # One at a time.
    gone = school.bin.delete("class", group.id)
    again = school.demo.add(term())
    with pytest.raises(InputError, match="there is another one already"):
        school.bin.bring_back(gone.id)
    school.bin.delete_for_good("class", again.id)
    school.bin.empty(gone.id)
    assert records(school) == before


@pytest.mark.parametrize("for_good", [False, True], ids=["bin", "for good"])
def test_real_people_in_it_stay_with_all_their_sittings(school: School, for_good: bool) -> None:
    """One press on 'take the class out' used to delete them."""
    group, real, own = as_an_older_program_left_it(school)
    places, answers = school.sittings.places(own.id), school.answers.of_sitting(own.id)
    school.demo.settle(PLAN)
    goes = school.bin.deletable("class", group.id)
    assert goes.words == "2 students, 2 sittings, 4 answers, 1 correction"
    (school.bin.delete_for_good if for_good else school.bin.delete)("class", group.id)
    assert school.people.students(group.id) == (real,)
    assert [one.id for one in school.sittings.listing(group.id)] == [own.id]
    assert (school.sittings.places(own.id), school.answers.of_sitting(own.id)) == (places, answers)
    # It is a class like any other now.
    assert school.demo.find() is None
    school.people.add_student(group.id, "Another")
    if not for_good:
        (gone,) = school.bin.entries()
        school.bin.bring_back(gone.id)
        assert len(school.people.students(group.id)) == 4
        assert school.demo.find() == group


def test_whatever_somebody_real_touched_stays(school: School) -> None:
    """A demo paper that somebody real sat; a demo student whose place somebody real took."""
    group, real, own = as_an_older_program_left_it(school)
    first = next(one for one in school.sittings.listing(group.id) if one.title == "First")
    alder, bryony, _ = school.people.students(group.id)
    school.sittings.add_place(first.id, real.id, "A")
    school.answers.put_all([Answer(first.id, real.id, "A1", 3)])
    school.sittings.add_place(own.id, alder.id, "A")
    school.answers.record(Answer(own.id, alder.id, "A1", 1, sent="as Alder"))
    school.demo.settle(PLAN)
    school.bin.delete("class", group.id)
    assert [one.id for one in school.people.students(group.id)] == [alder.id, real.id]
    assert {one.id for one in school.sittings.listing(group.id)} == {own.id, first.id}
    assert {(one.student, one.chosen) for one in school.answers.of_sitting(own.id)} == {
        (real.id, 2),
        (alder.id, 1),
    }
    assert (real.id, 3) in {(one.student, one.chosen) for one in school.answers.of_sitting(first.id)}
    assert bryony.id not in {one.student for one in school.sittings.places(first.id)}
