"""`lubberline course`: course records to print and sign, and who is ready, for a class of the records."""

from __future__ import annotations

import argparse
import re
from contextlib import closing
from typing import TYPE_CHECKING

from lubberline.commands import terminal
from lubberline.commands.options import Command, flag, option, out
from lubberline.errors import InputError, nearest_of

if TYPE_CHECKING:
    from lubberline.classroom.exam import ClassReadiness
    from lubberline.classroom.records import Group
    from lubberline.publish.folder import Progress
    from lubberline.store.school import School

COLUMNS = ("student", "answers", "pass_chance", "low", "high", "expected_share", "section_to_raise", "words")


def run(given: argparse.Namespace) -> None:
    """Write the records of a class."""
    from lubberline.store.school import open_school

    with closing(open_school()) as school:
        group = group_called(school, given.group)
        progress = given.progress.stage("Drawing the records")
        write_course(school, group, given.out, readiness_too=given.readiness, progress=progress)


def group_called(school: School, title: str) -> Group:
    """The class with this title.

    Raises:
        InputError: there is none, or more than one.
    """
    groups = school.people.groups()
    found = [one for one in groups if one.title.casefold() == title.strip().casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError("class", f"{len(found)} classes have the title '{title[:60]}'", "rename one of them")
    right = nearest_of(title, [one.title for one in groups]) if groups else "there is no class yet"
    raise InputError("class", f"no class has the title '{title[:60]}'", right)


def write_course(
    school: School, group: Group, folder: str, *, readiness_too: bool, progress: Progress
) -> None:
    """Write a record for each student of a class, all in one table, and who is ready.

    Raises:
        InputError: no student, or the folder cannot be written to.
    """
    from lubberline.classroom.readiness import readiness
    from lubberline.publish.folder import write_together
    from lubberline.publish.reports.course_record import course_record, course_record_pdf, course_records_csv
    from lubberline.store.fleet import home_of
    from lubberline.store.settings import SCHOOL_NAME
    from lubberline.store.times import now
    from lubberline.web.results.exam import exam_of, note_of
    from lubberline.web.results.findings import gather

    gathered = gather(school, group)
    if not gathered.students:
        raise InputError("class", f"'{group.title}' has no students", "add students first")
    corrections = [one for sitting in gathered.sittings for one in school.answers.corrections_of(sitting.id)]
    ready = readiness(gathered.by_student, exam_of(school), sittings=gathered.sittings)
    by_student = {one.student: one for one in ready.students}
    home = home_of(school)
    records = [
        course_record(
            student,
            group,
            gathered.sittings,
            gathered.by_student.get(student.id, []),
            places=school.sittings.places_of(student.id),
            corrections=corrections,
            readiness=by_student.get(student.id) if readiness_too else None,
            school=school.settings.get(SCHOOL_NAME),
            made_on=home.day(now()),
            home=home,
        )
        for student in gathered.students
    ]
    names = {student.id: student.name for student in gathered.students}
    files = {
        f"{number:02d}-{_plain(record.student)}.pdf": (lambda one=record: course_record_pdf(one))
        for number, record in enumerate(records, start=1)
    }
    written = write_together(
        {
            **files,
            "records.csv": lambda: course_records_csv(records),
            "readiness.csv": lambda: _readiness_csv(ready, names),
        },
        folder,
        progress=progress,
    )
    terminal.say_written(written)
    for note in filter(None, (note_of(school), *ready.notes)):
        print(f"Note: {note}")


def _plain(name: str) -> str:
    """A name as part of a file's: letters, figures and hyphens."""
    return re.sub(r"[^\w]+", "-", name, flags=re.UNICODE).strip("-_")[:40].lower() or "student"


def _readiness_csv(ready: ClassReadiness, names: dict[str, str]) -> bytes:
    from lubberline.publish.reports.results_tables import table_csv

    return table_csv(
        COLUMNS,
        [
            (
                names.get(one.student, one.student),
                one.answers,
                one.pass_chance,
                one.low,
                one.high,
                one.expected,
                one.sections[one.best].title,
                " ".join(one.words),
            )
            for one in ready.students
        ],
    )


COURSE = Command(
    "course",
    "course records to print and sign, and who is ready",
    run,
    "Computing the course records",
    (
        option("group", metavar="CLASS", help="title of the class in the records"),
        out("folder for a PDF per student, records.csv, readiness.csv"),
        flag("--readiness", "include it in the course records"),
    ),
)
