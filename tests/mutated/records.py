"""The school's records as their reader gets them: backups, and files of the database."""

import contextlib
import gzip
import tempfile
from functools import cache
from pathlib import Path
from random import Random

from lubberline.classroom.records import Answer, Correction
from lubberline.store.fleet import add_aircraft
from lubberline.store.school import School, open_school
from lubberline.upkeep.log import log_from_text
from lubberline.web.aircraft.fleet import make_code
from lubberline.web.aircraft.swing import keep_swing
from lubberline.web.app import create_app
from lubberline.web.results.exam import exam_of, keep_exam
from tests.mutated.mutate_records import (
    backup_changed,
    database_changed,
)
from tests.store.made import taught
from tests.web.caller import Caller


def small_records() -> School:
    """A school with a few rows of every table and every setting."""
    school = open_school("memory")
    class_ = taught(school, count=2)
    for k, student in enumerate(class_.students):
        school.answers.record(Answer(class_.lesson.id, student.id, "step-2", k, sent=f"s{k}"))
        school.answers.record(Answer(class_.paper.id, student.id, "A2", value=k + 0.1, sent=f"t{k}"))
    why = Correction(
        class_.paper.id, class_.students[0].id, "A2", "M", "", "read wrongly", "points", "0", "1"
    )
    school.answers.correct(why)
    gone = school.people.add_student(class_.paper.group, "Gone")
    school.sittings.add_place(class_.paper.id, gone.id, "A")
    school.bin.delete("student", gone.id)
    craft = add_aircraft(school, 'name = "ZZ-YEW"\n')
    typed = {"time_utc": "2026-01-01T10:00Z", "indicated": "004", "compass": "002", "set_at": "09:30Z"}
    typed["place"] = "47N 8E"
    log = log_from_text("x.csv", ",".join(typed) + "\n" + ",".join(typed.values()) + "\n")
    entry = school.log.add("ZZ-YEW", typed, {"indicated_deg": log.checks[0].indicated_deg})
    school.log.correct(entry.id, "M", "read wrongly", typed, {"indicated_deg": 5.0})
    school.settings.put("school_name", "Lakeside")
    make_code(school, craft)
    pairs = "magnetic_deg,compass_deg\n" + "".join(f"{k},{k + 1}\n" for k in range(0, 360, 45))
    keep_swing(school, craft, {"pairs": pairs, "day": "today", "limit": "10"})
    keep_exam(school, exam_of(school))
    return school


@cache
def _backup_lines() -> tuple[str, ...]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "records.backup")
        small_records().backup(path)
        return tuple(gzip.decompress(path.read_bytes()).decode().splitlines()[:-1])


def backup_file(path: Path, random: Random) -> None:
    path.write_bytes(backup_changed(_backup_lines(), random))


@cache
def _standing() -> School:
    return open_school("memory")


def restored(path: Path) -> tuple[School]:
    # One school for all: what is refused changes nothing, and what is taken takes the place of everything.
    _standing().restore(path)
    return (_standing(),)


PAGES = (
    "/school",
    "/aircraft",
    "/aircraft/zz-yew",
    "/results",
    "/sittings",
    "/teach",
    "/lessons",
    "/log/ABCDEFGH",
)


def pages_answer(school: School) -> None:
    """No page dies of what is in the records, and everything can be taken out again."""
    call = Caller(create_app(school=school))
    addresses = [*PAGES]
    for sitting in school.sittings.listing():
        addresses += [f"/sittings/{sitting.id}", f"/results?group={sitting.group}"]
    for address in addresses:
        answer = call.get(address, follow_redirects=True)
        assert answer.status_code < 500, f"{address}: {answer.status_code}"
    with tempfile.TemporaryDirectory() as folder:
        school.export_csv(Path(folder, "csv"))
        school.backup(Path(folder, "again.backup"))


def used(school: School) -> None:
    with contextlib.closing(school):
        pages_answer(school)


@cache
def database_bytes() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        source, path = Path(folder, "records.backup"), Path(folder, "school.sqlite3")
        small_records().backup(source)
        school = open_school(f"sqlite:///{path}")
        school.restore(source)
        school.close()
        return path.read_bytes()


def database_file(path: Path, random: Random) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
    database_changed(database_bytes(), path, random)


def records_opened(path: Path) -> School:
    return open_school(f"sqlite:///{path}")
