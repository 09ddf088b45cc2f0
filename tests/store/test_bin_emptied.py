"""What is deleted for good: by whom, with what, and that nothing is left of it."""

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.store import server as records_server
from lubberline.store.database import tables
from lubberline.store.school import School, open_school
from tests.store.bin_school import START, at, school_of_two
from tests.store.made import taught
from tests.store.test_backup import everything


def test_only_time_that_was_seen_to_pass_empties_the_bin(
    school: School, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, _ = school_of_two(school)
    now = START
    at(monkeypatch, now)
    school.bin.delete("class", one.paper.group)
    # A clock a year ahead, and back again, as often as you like.
    for _ in range(50):
        at(monkeypatch, now + timedelta(days=365))
        assert school.bin.look() == 0
        at(monkeypatch, now)
        assert school.bin.look() == 0
    assert school.bin.entries()[0].days_left == 30.0
    for _ in range(4):
        now += timedelta(days=7)
        at(monkeypatch, now)
        assert school.bin.look() == 0
    assert school.bin.entries()[0].days_left == pytest.approx(2.0)
    now += timedelta(days=1.9)
    at(monkeypatch, now)
    assert school.bin.look() == 0
    now += timedelta(days=0.2)
    at(monkeypatch, now)
    assert school.bin.look() == 1
    assert school.bin.entries() == ()


def test_a_class_takes_its_parts_in_the_bin_with_it_for_good(school: School) -> None:
    one, other = school_of_two(school)
    school.bin.delete("student", one.students[0].id)
    kept = school.bin.delete("student", other.students[0].id)
    group = school.bin.delete("class", one.paper.group)
    assert len(school.bin.entries()) == 3
    school.bin.empty(group.id)
    assert [entry.id for entry in school.bin.entries()] == [kept.id]
    with pytest.raises(InputError, match="not in the bin"):
        school.bin.empty(group.id)


def on_disk(folder: Path) -> bytes:
    return b"".join(file.read_bytes() for file in folder.iterdir())


Act = Callable[[School, str, str], object]


@pytest.mark.parametrize(
    "act",
    [
        lambda school, student, _: school.bin.delete_for_good("student", student),
        lambda school, student, _: school.bin.empty(school.bin.delete("student", student).id),
        lambda school, student, sitting: (
            school.bin.delete("sitting", sitting),
            school.bin.delete_for_good("student", student),
        ),
        lambda school, student, _: school.bin.empty(
            school.bin.delete("class", school.people.student(student).group).id
        ),
    ],
    ids=["at once", "from the bin", "with a sitting in the bin", "with the class"],
)
def test_for_good_leaves_no_trace_in_any_file(tmp_path: Path, act: Act) -> None:
    name = "Theophania Example"
    school = open_school(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    class_ = taught(school)
    student = school.people.add_student(class_.paper.group, name)
    for sitting, key in ((class_.paper, "A1"), (class_.lesson, "step-2")):
        school.sittings.add_place(sitting.id, student.id, "A")
        for count in range(40):
            school.answers.record(
                Answer(sitting.id, student.id, key, count % 4, sent=f"{sitting.kind}{count}")
            )
    assert name.encode() in on_disk(tmp_path)
    act(school, student.id, class_.paper.id)
    assert name.encode() not in on_disk(tmp_path)
    assert student.id.encode() not in on_disk(tmp_path)
    school.close()


@pytest.mark.parametrize("from_the_bin", [False, True])
def test_a_sitting_deleted_for_good_is_not_in_the_bin_with_a_student(
    school: School, from_the_bin: bool
) -> None:
    one, _ = school_of_two(school)
    student = school.bin.delete("student", one.students[0].id)
    if from_the_bin:
        school.bin.empty(school.bin.delete("sitting", one.paper.id).id)
    else:
        school.bin.delete_for_good("sitting", one.paper.id)
    assert one.paper.id not in str(everything(school))
    assert school.bin.entry(student.id).words == "1 student, 1 answer"
    assert school.bin.bring_back(student.id).remarks == ()
    assert [found.sitting for found in school.answers.of_student(one.students[0].id)] == [one.lesson.id]


def test_whoever_was_read_while_being_deleted_for_good_is_gone_soon_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(records_server, "SETTLE_S", 0.0)
    name = b"Theophania Example"
    school = open_school(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    student = school.people.add_student(school.people.add_group("Spring").id, name.decode())
    with school.transactions.engine.connect() as reader:
        reader.execution_options(reads=True)
        reader.execute(tables.students.select()).all()
        school.bin.delete_for_good("student", student.id)
        assert name in on_disk(tmp_path)
    school.watch()
    ends_s = time.monotonic() + 30.0
    while name in on_disk(tmp_path) and time.monotonic() < ends_s:
        time.sleep(0.05)
    assert name not in on_disk(tmp_path)
    school.close()
