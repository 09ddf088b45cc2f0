"""The bin: whatever was deleted comes back as it was, and goes for good when its time is over, not before."""

import contextlib
import json
import threading
import time
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest

from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.store.bin import contents, deletion
from lubberline.store.bin.belongings import Kind
from lubberline.store.bin.deletion import Forgotten
from lubberline.store.database import tables
from lubberline.store.school import School, open_school
from lubberline.store.settings import AIRCRAFT, AIRCRAFT_CODE, AIRCRAFT_FILE
from tests.store.bin_school import OWN_CRAFT, school_of_two
from tests.store.made import taught
from tests.store.test_backup import everything


def deletables(school: School) -> list[tuple[Kind, str]]:
    found: list[tuple[Kind, str]] = [("aircraft", OWN_CRAFT)]
    found += [("class", one.id) for one in school.people.groups()]
    found += [
        ("student", one.id) for group in school.people.groups() for one in school.people.students(group.id)
    ]
    found += [("sitting", one.id) for one in school.sittings.listing()]
    found += [("entry", one.id) for one in school.log.entries(OWN_CRAFT)]
    return found


def records(school: School) -> dict[str, list]:
    return {name: rows for name, rows in everything(school).items() if name != "bin"}


def comes_back(school: School, id: str) -> bool:
    """Whether it came back; False when something else has to come back first."""
    try:
        return school.bin.bring_back(id).remarks == ()
    except InputError as error:
        return not error.right.startswith("bring the ")


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_deleted_comes_back_as_it_was(school: School, tmp_path: Path, seed: int) -> None:
    """In any order, one thing within another too: what has to wait for another says so and comes after it."""
    school_of_two(school)
    before, random = records(school), Random(seed)
    first = {path.name: path.read_bytes() for path in school.export_csv(tmp_path / "before")}
    order = random.sample(deletables(school), k=9)
    for kind, key in order:
        # What went with another thing is gone.
        with contextlib.suppress(InputError):
            school.bin.delete(kind, key)
    in_the_bin = [one.id for one in school.bin.entries()]
    assert len(in_the_bin) > 2
    assert records(school) != before
    random.shuffle(in_the_bin)
    while in_the_bin:
        waiting = [id for id in in_the_bin if not comes_back(school, id)]
        assert len(waiting) < len(in_the_bin)
        in_the_bin = waiting
    assert records(school) == before
    assert {path.name: path.read_bytes() for path in school.export_csv(tmp_path / "after")} == first
    assert school.bin.entries() == ()


def test_what_goes_is_counted_before_and_after(school: School) -> None:
    one, _ = school_of_two(school)
    group = school.bin.deletable("class", one.paper.group)
    assert group.words == "1 class, 4 students, 2 sittings, 9 answers, 4 corrections"
    assert school.bin.deletable("student", one.students[0].id).words == "1 student, 3 answers, 1 correction"
    assert school.bin.deletable("aircraft", OWN_CRAFT).words == "2 log entries, 1 aircraft"
    gone = school.bin.delete("class", one.paper.group)
    assert (gone.words, gone.title, gone.days_left) == (group.words, "Spring", 30.0)
    with pytest.raises(InputError, match=r"there is no .* with this id"):
        school.bin.deletable("class", one.paper.group)


def test_counts_of_who_was_deleted_hold_in_the_bin_and_out_of_it(school: School) -> None:
    """Student and sitting in the bin at once: no answer is there twice, and none is counted twice."""
    one, _ = school_of_two(school)
    paper, student = one.paper.id, one.students[0].id
    counted = (Forgotten(paper, "", -1, 1), Forgotten(paper, "A1", 1, 1), Forgotten(paper, "A2", -1, 1))
    sitting = school.bin.delete("sitting", paper)
    gone = school.bin.delete("student", student)
    assert gone.words == "1 student, 3 answers, 1 correction"
    school.bin.bring_back(sitting.id)
    assert school.bin.forgotten(paper) == counted
    assert student not in {answer.student for answer in school.answers.of_sitting(paper)}
    school.bin.delete("sitting", paper)
    school.bin.bring_back(gone.id)
    (again,) = school.bin.entries()
    school.bin.bring_back(again.id)
    assert school.bin.forgotten(paper) == ()
    assert len([answer for answer in school.answers.of_sitting(paper) if answer.student == student]) == 2


def test_what_was_taken_meanwhile_is_said(school: School) -> None:
    one, _ = school_of_two(school)
    paper, student = one.paper, one.students[0]
    place = next(place for place in school.sittings.places(paper.id) if place.secret_hash)
    gone = [school.bin.delete("student", id) for id in (student.id, place.student)]
    school.people.add_student(paper.group, "Newcomer", student.number)
    assert "The number 0 is now in use" in school.bin.bring_back(gone[0].id).remarks[0]
    assert school.people.student(student.id).number == ""
    other = school.sittings.enter(paper.id, "From a phone", "", place.secret_hash, "A")
    assert school.bin.bring_back(gone[1].id).remarks == ()
    assert school.sittings.place_by_secret(paper.id, place.secret_hash) == other
    assert sorted(one.name for one in school.people.students(paper.group)).count("From a phone") == 2
    gone_paper = school.bin.delete("sitting", paper.id)
    school.sittings.move(one.lesson.id, code=paper.code)
    (said,) = school.bin.bring_back(gone_paper.id).remarks
    assert said.endswith(f"{school.sittings.sitting(paper.id).code}.")
    assert school.sittings.sitting(paper.id).code != paper.code


def test_an_aircraft_that_was_added_again_keeps_its_new_file(school: School) -> None:
    school_of_two(school)
    log = school.log.entries(OWN_CRAFT)
    gone = school.bin.delete("aircraft", OWN_CRAFT)
    assert json.loads(school.settings.get(AIRCRAFT)) == ["zz-oak", "zz-ash"]
    school.settings.put(AIRCRAFT, json.dumps(["zz-elm"]))
    new = f'name = "{OWN_CRAFT}"\nnote = "new"\n'
    school.settings.put(f"{AIRCRAFT_FILE}zz-elm", new)
    assert "added again" in school.bin.bring_back(gone.id).remarks[0]
    assert school.log.entries(OWN_CRAFT) == log
    assert school.settings.get(f"{AIRCRAFT_FILE}zz-elm") == new
    # The earlier file is not lost: it comes back when the new one has gone.
    (earlier,) = school.bin.entries()
    school.bin.delete("aircraft", OWN_CRAFT)
    assert school.bin.bring_back(earlier.id).remarks == ()
    assert school.settings.get(f"{AIRCRAFT_FILE}zz-elm") == f'name = "{OWN_CRAFT}"'


def test_an_answer_goes_on_to_be_numbered_after_rows_that_came_back(school: School) -> None:
    one, _ = school_of_two(school)
    student = one.students[2]
    gone = school.bin.delete("student", student.id)
    school.answers.record(Answer(one.paper.id, one.students[0].id, "A1", 3, sent="later"))
    school.bin.bring_back(gone.id)
    school.answers.record(Answer(one.paper.id, student.id, "A1", 1, sent="the last"))
    trail = [(answer.key, answer.sent) for answer in school.answers.trail(one.paper.id)]
    assert trail[-1] == ("A1", "the last")
    assert school.answers.record(Answer(one.paper.id, student.id, "A1", 3, sent="second 0 2")).chosen == 3


def test_rows_of_an_older_step_come_back_with_defaults(school: School) -> None:
    one, _ = school_of_two(school)
    gone = school.bin.delete("sitting", one.paper.id)
    with school.transactions.engine.begin() as connection:
        rows = contents.rows_of(connection, gone.id)
        for place in rows["places"]:
            del place["extra_min"]
            place["of_a_later_step"] = 1
        contents.change_rows(connection, gone.id, rows)
    school.bin.bring_back(gone.id)
    assert {place.extra_min for place in school.sittings.places(one.paper.id)} == {0.0}


def test_what_is_there_already_does_not_come_back_twice(school: School, tmp_path: Path) -> None:
    one, _ = school_of_two(school)
    gone = school.bin.delete("student", one.students[0].id)
    with school.transactions.engine.begin() as connection:
        rows = contents.rows_of(connection, gone.id)
        connection.execute(tables.students.insert(), rows["students"])
    with pytest.raises(InputError, match="already in the records"):
        school.bin.bring_back(gone.id)
    with pytest.raises(InputError, match="not in the bin"):
        school.bin.bring_back("none")


def test_the_bin_is_in_a_backup(school: School, tmp_path: Path) -> None:
    one, _ = school_of_two(school)
    school.settings.put(f"{AIRCRAFT_CODE}zz-elm", "")
    school.settings.put(AIRCRAFT, json.dumps(["zz-elm"]))
    before = records(school)
    entry = school.log.entries("ZZ-OAK")[0].id
    for kind, key in (("class", one.paper.group), ("aircraft", OWN_CRAFT), ("entry", entry)):
        school.bin.delete(kind, key)  # type: ignore[arg-type]
    school.bin.put_file("lesson", "mine", "Mine", "text", None)
    school.backup(tmp_path / "school.backup")
    other = open_school("memory")
    other.restore(tmp_path / "school.backup")
    for gone in other.bin.entries():
        if gone.kind != "lesson":
            other.bin.bring_back(gone.id)
    assert records(other) == before
    other.close()


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "setting"},
        {"rows": "[]"},
        {"rows": '{"students": []}'},
        {"rows": '{"students": [{"id": 1}]}'},
        {"rows": '{"nothing": [{"id": "x"}], "students": [{"id": "x"}]}'},
        {"counts": '{"students": "two"}'},
        {"seen_utc": "yesterday"},
        {"seen_utc": "2026-01-01T00:00:00"},
        {"age_days": -1.0},
    ],
    ids=str,
)
def test_a_bin_that_the_program_could_not_have_written_is_refused(
    tmp_path: Path, change: dict[str, object]
) -> None:
    """Taken over, it would break the pages of the bin, or its emptying, for ever."""
    school = open_school("memory")
    one, _ = school_of_two(school)
    school.bin.delete("student", one.students[0].id)
    with school.transactions.engine.begin() as connection:
        connection.execute(tables.bin_entries.update().values(change))
    school.backup(tmp_path / "school.backup")
    before = everything(school)
    with pytest.raises(InputError, match="bin, row 1"):
        school.restore(tmp_path / "school.backup")
    assert everything(school) == before
    school.close()


def test_a_running_server_looks_into_the_bin(tmp_path: Path) -> None:
    school = open_school(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    one, _ = school_of_two(school)
    for student, age_days in zip(one.students, (contents.KEPT_DAYS, contents.KEPT_DAYS - 1.0), strict=False):
        id = school.bin.delete("student", student.id).id
        with school.transactions.engine.begin() as connection:
            old = tables.bin_entries.update().where(tables.bin_entries.c.id == id)
            connection.execute(old.values(age_days=age_days))
    school.watch()
    ends_s = time.monotonic() + 30.0
    while len(school.bin.entries()) > 1 and time.monotonic() < ends_s:
        time.sleep(0.05)
    assert [entry.title for entry in school.bin.entries()] == [one.students[1].name]
    school.close()


def test_a_backup_holds_a_bin_with_a_large_class(tmp_path: Path) -> None:
    """As long as the rows of fifty students with sixty papers of forty questions."""
    school = open_school(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    gone = school.bin.delete("class", taught(school).paper.group)
    with school.transactions.engine.begin() as connection:
        rows = tables.bin_entries.c.rows
        # Spaces are quick to read.
        connection.execute(tables.bin_entries.update().values(rows=rows + " " * 25_000_000))
    school.backup(tmp_path / "school.backup")
    school.close()
    other = open_school("memory")
    other.restore(tmp_path / "school.backup")
    assert other.bin.entries()[0].words == gone.words
    other.close()


def test_what_is_too_large_for_the_bin_stays(school: School, monkeypatch: pytest.MonkeyPatch) -> None:
    one, _ = school_of_two(school)
    before = records(school)
    monkeypatch.setattr(contents, "LONGEST_ROWS", 1_000)
    with pytest.raises(InputError, match="too large"):
        school.bin.delete("class", one.paper.group)
    assert records(school) == before


@pytest.mark.parametrize("kind", ["sitting", "class"])
def test_an_answer_to_a_sitting_in_the_bin_waits_for_it(school: School, kind: Kind) -> None:
    """It is told so by another code than what was deleted for good."""
    class_ = taught(school)
    answer = Answer(class_.paper.id, class_.students[0].id, "A1", 1, sent="sending-1")
    key = class_.paper.id if kind == "sitting" else class_.paper.group
    id = school.bin.delete(kind, key).id
    assert school.sittings.seat(class_.paper.id, "digest").in_bin
    with pytest.raises(InputError) as refused:
        school.answers.receive(answer, None)
    assert refused.value.code == "no-place"
    school.bin.bring_back(id)
    assert not school.sittings.seat(class_.paper.id, "digest").in_bin
    assert school.answers.receive(answer, None).chosen == 1
    school.bin.delete_for_good(kind, key)
    with pytest.raises(InputError) as refused:
        school.answers.receive(answer, None)
    assert refused.value.code == "no-sitting"


def test_a_sitting_deleted_while_a_student_is_brought_back_takes_nothing_of_theirs(
    opened: Callable[[], School], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By another server, at the worst moment: what the student did in it was in neither then."""
    school, other = opened(), opened()
    one, _ = school_of_two(school)
    before = records(school)
    student = school.bin.delete("student", one.students[0].id)
    deleting = threading.Thread(target=other.bin.delete, args=("sitting", one.paper.id))
    in_the_bin = deletion.sittings_in_the_bin

    def at_the_worst_moment(*given: Any) -> Any:
        found = in_the_bin(*given)
        deleting.start()
        deleting.join(0.3)
        return found

    monkeypatch.setattr(deletion, "sittings_in_the_bin", at_the_worst_moment)
    school.bin.bring_back(student.id)
    monkeypatch.undo()
    deleting.join(30.0)
    (sitting,) = school.bin.entries()
    school.bin.bring_back(sitting.id)
    assert records(school) == before


def test_a_log_entry_that_comes_again_while_it_is_in_the_bin_is_not_made_twice(school: School) -> None:
    """The answer to the phone was lost, and somebody deleted the entry before it was sent again."""
    given = (OWN_CRAFT, {"indicated": "270"}, {"time_utc": "2026-03-01T10:00:00Z", "sent": "sending-1"})
    entry = school.log.add(*given)
    binned = school.bin.delete("entry", entry.id)
    assert school.log.add(*given) == entry
    assert school.log.entries(OWN_CRAFT) == ()
    school.bin.bring_back(binned.id)
    assert school.log.entries(OWN_CRAFT) == (entry,)
    # Deleted for good, it is nobody's any more.
    school.bin.delete_for_good("entry", entry.id)
    assert school.log.add(*given).id != entry.id
