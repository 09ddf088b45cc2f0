"""Deleting a student: everywhere, from the files too, and only counts stay."""

from pathlib import Path

import pytest

from lubberline.classroom.records import Answer, Correction
from lubberline.errors import InputError
from lubberline.store.bin.deletion import Forgotten
from lubberline.store.database import tables
from lubberline.store.database.engines import sqlite_engine
from lubberline.store.school import School, open_school
from tests.store.made import taught
from tests.store.test_backup import everything
from tests.store.test_school import rows_of


def test_a_forgotten_student_leaves_nothing_behind(school: School) -> None:
    class_ = taught(school)
    ada, bo = class_.students[:2]
    school.people.rename(ada.id, "Ada Example", "4711")
    for student in (ada, bo):
        school.answers.record(Answer(class_.paper.id, student.id, "A1", 1, sent="a"))
        school.answers.record(Answer(class_.paper.id, student.id, "A1", 2, sent="b"))
        school.answers.correct(
            Correction(class_.paper.id, student.id, "A1", "N", "", "w", "points", "0", "1")
        )
    others = {
        name: [row for row in rows if ada.id not in row]
        for name, rows in everything(school).items()
        if name != "forgotten"
    }
    school.bin.delete_for_good("student", ada.id)
    for table in tables.IN_ORDER:
        for row in rows_of(school, table):
            said = [str(value) for value in row.values()]
            assert not [one for one in said if ada.id in one or "Ada" in one or "4711" in one], table.name
    # What is about the others is as it was.
    after = everything(school)
    assert {name: rows for name, rows in after.items() if name != "forgotten"} == others
    with pytest.raises(InputError, match="no student with this id"):
        school.bin.delete_for_good("student", ada.id)


def test_counts_stay_without_a_person(school: School) -> None:
    class_ = taught(school)
    ada, bo, cy = class_.students
    paper = class_.paper.id
    for student, chosen in ((ada, 2), (bo, 2), (cy, 1)):
        school.answers.record(Answer(paper, student.id, "A1", chosen, sent="a"))
    school.answers.record(Answer(paper, ada.id, "A2", value=6.0, sent="b"))
    school.answers.record(Answer(paper, bo.id, "A2", value=7.0, sent="b"))
    school.answers.record(Answer(paper, bo.id, "A2", sent="c"))  # taken back
    school.bin.delete_for_good("student", ada.id)
    school.bin.delete_for_good("student", bo.id)
    assert school.bin.forgotten(paper) == (
        Forgotten(paper, "", -1, 2),
        Forgotten(paper, "A1", 2, 2),
        Forgotten(paper, "A2", -1, 1),
    )
    assert school.bin.forgotten(class_.lesson.id) == (Forgotten(class_.lesson.id, "", -1, 2),)


def test_a_class_or_a_sitting_is_deleted_whole(school: School) -> None:
    class_, other = taught(school), taught(school)
    for one in (class_, other):
        school.answers.record(Answer(one.paper.id, one.students[0].id, "A1", 1, sent="a"))
        school.answers.correct(Correction(one.paper.id, "", "A1", "N", "", "w", "struck", "counts", "struck"))
    school.bin.delete_for_good("sitting", class_.lesson.id)
    assert {one.id for one in school.sittings.listing()} == {class_.paper.id, other.lesson.id, other.paper.id}
    school.bin.delete_for_good("class", class_.paper.group)
    assert {one.id for one in school.sittings.listing()} == {other.lesson.id, other.paper.id}
    assert len(school.people.groups()) == 1
    for table in (tables.answers, tables.sendings, tables.corrections):
        assert {row["sitting"] for row in rows_of(school, table)} == {other.paper.id}
    for kind in ("sitting", "class"):
        with pytest.raises(InputError, match=r"there is no .* with this id"):
            school.bin.delete_for_good(kind, "none")


def test_nothing_of_a_forgotten_student_is_left_in_the_files(tmp_path: Path) -> None:
    path = tmp_path / "school.sqlite3"

    def on_disk() -> bytes:
        return b"".join(file.read_bytes() for file in tmp_path.iterdir())

    school = open_school(f"sqlite:///{path}")
    class_ = taught(school)
    name = "Theophania Example"
    student = school.people.add_student(class_.paper.group, name)
    school.sittings.add_place(class_.paper.id, student.id, "A")
    for count in range(40):
        school.answers.record(Answer(class_.paper.id, student.id, "A1", count % 4, sent=f"s{count}"))
    assert name.encode() in on_disk()
    school.bin.delete_for_good("student", student.id)
    # Still open: nothing waits for the end of the program.
    assert name.encode() not in on_disk()
    assert student.id.encode() not in on_disk()
    school.close()


def test_deleting_does_not_wait_for_whoever_reads_long(tmp_path: Path) -> None:
    path = tmp_path / "school.sqlite3"
    school = open_school(f"sqlite:///{path}")
    class_ = taught(school)
    engine = sqlite_engine(path)
    with engine.connect() as reading:
        reading.execution_options(reads=True).execute(tables.students.select()).all()
        school.bin.delete_for_good("student", class_.students[0].id)
    engine.dispose()
    assert len(school.people.students(class_.paper.group)) == 2
    school.close()
