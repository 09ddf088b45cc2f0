"""`lubberline records`: where the school's records are, backup, restore, export, delete, bring back."""

from __future__ import annotations

import argparse
from typing import Any

from lubberline.commands import deletion


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
    deletion.add(verbs)


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


_VERBS = {
    "where": _where,
    "backup": _backup,
    "restore": _restore,
    "export": _export,
    **deletion.VERBS,
}
