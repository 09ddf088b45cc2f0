"""`lubberline records`: where the school's records are, backup, restore, export, forgetting a student."""

from __future__ import annotations

import argparse
from typing import Any


def add(commands: Any) -> None:
    """Its verbs."""
    records = commands.add_parser("records", help="the school's records: backup, restore, export, forget")
    verbs = records.add_subparsers(dest="verb", required=True, metavar="VERB")
    verbs.add_parser("where", help="say where the records are")
    backup = verbs.add_parser("backup", help="write all records into one new file")
    backup.add_argument("file", metavar="FILE")
    restore = verbs.add_parser("restore", help="put a backup's records in the place of those here")
    restore.add_argument("file", metavar="FILE")
    restore.add_argument("--yes", action="store_true", help="what is here now may go")
    export = verbs.add_parser("export", help="write everything as CSV, a file a table")
    export.add_argument("folder", metavar="DIR")
    forget = verbs.add_parser("forget", help="delete a student with everything about them")
    forget.add_argument("student", metavar="STUDENT", help="name, number or id")
    forget.add_argument("--class", dest="group", default="", metavar="TITLE", help="where names are alike")


def run(given: argparse.Namespace) -> None:
    """Do what the verb says."""
    from lubberline.store.school import open_school

    school = open_school()
    try:
        _VERBS[given.verb](school, given)
    finally:
        school.close()


def _where(school: Any, _: argparse.Namespace) -> None:
    groups = school.groups()
    students = sum(len(school.students(group.id)) for group in groups)
    print(f"{school.where}: {len(groups)} classes, {students} students, {len(school.sittings())} sittings")


def _backup(school: Any, given: argparse.Namespace) -> None:
    school.backup(given.file)
    print(f"wrote {given.file}. It holds names and answers: keep it as you keep those.")


def _restore(school: Any, given: argparse.Namespace) -> None:
    from lubberline.errors import InputError

    if school.groups() and not given.yes:
        wrong = f"there are records in {school.where}, which would be gone"
        raise InputError("records", wrong, "back them up first, then add --yes")
    school.restore(given.file)
    _where(school, given)


def _export(school: Any, given: argparse.Namespace) -> None:
    for path in school.export_csv(given.folder):
        print(f"wrote {path}")


def _forget(school: Any, given: argparse.Namespace) -> None:
    from lubberline.errors import InputError

    found = [
        (group, student)
        for group in school.groups()
        if given.group in ("", group.title)
        for student in school.students(group.id)
        if given.student in (student.id, student.name, student.number)
    ]
    if not found:
        raise InputError("STUDENT", f"there is no '{given.student}'", "a name, number or id of the records")
    if len(found) > 1:
        listed = "; ".join(f"{student.name} of {group.title}, id {student.id}" for group, student in found)
        raise InputError("STUDENT", f"that is {len(found)} students: {listed}", "give the id")
    group, student = found[0]
    school.forget_student(student.id)
    print(f"{student.name} of {group.title} is deleted, with all answers and corrections.")
    print("Counts without a person stay: how many were in a sitting, and chose which option.")
    print("Backups and exports that you made still hold them.")


_VERBS = {
    "where": _where,
    "backup": _backup,
    "restore": _restore,
    "export": _export,
    "forget": _forget,
}
