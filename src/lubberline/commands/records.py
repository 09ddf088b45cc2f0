"""`lubberline records` (place, backup, restore, export, delete) and `lubberline demo-class`."""

import argparse
from contextlib import closing
from typing import Any

from lubberline.commands import deletion
from lubberline.commands.options import Command, flag, option
from lubberline.errors import InputError, required


def run(given: argparse.Namespace) -> None:
    """Run the verb."""
    from lubberline.store.school import open_school

    if given.verb.act is _where:
        _where()
        return
    with closing(open_school()) as school:
        given.verb.act(school, given)


def _where() -> None:
    from lubberline.store.inventory import survey, words

    seen = survey()
    if seen.step is None:
        print(f"{seen.where}: no records yet")
        return
    print(f"{seen.where}: {words(seen.counts)}")
    if seen.step < seen.newest:
        print(
            f"Its tables are of step {seen.step}. The next command that opens it, such as `lubberline open`,"
        )
        print(f"updates them to step {seen.newest}, and saves a copy of a file in the same folder.")
    elif seen.step > seen.newest:
        print(f"Its tables are of step {seen.step}, newer than this program's {seen.newest}.")


def _backup(school: Any, given: argparse.Namespace) -> None:
    from lubberline.store.backup import count_of_files
    from lubberline.store.database.engines import school_folder
    from lubberline.store.inventory import words

    folder = school_folder()
    school.backup(given.file, folder)
    print(f"It has {words(school.counts() | count_of_files(folder))}.")
    print(f"wrote {given.file}. It contains names and answers: protect it as you protect those.")


def _restore(school: Any, given: argparse.Namespace) -> None:
    from lubberline.store.backup import OWN_FILES, count_of_files, counts_of
    from lubberline.store.database.engines import school_folder
    from lubberline.store.inventory import words

    here, comes, folder = school.counts(), counts_of(given.file), school_folder()
    if OWN_FILES in comes:
        here |= count_of_files(folder)
    print(f"{school.where} has {words(here)}.")
    print(f"{given.file} has {words(comes)}.")
    if any(here.values()) and not given.yes:
        wrong = f"this would be replaced in {school.where}: {words(here)}"
        raise InputError("records", wrong, "add --yes; a backup of it is made first")
    kept = school.restore(given.file, folder)
    print(f"{school.where} now has the records of {given.file}.")
    print(f"Own files in {folder}: {'replaced' if OWN_FILES in comes else 'unchanged, the backup has none'}.")
    if kept is not None:
        print(f"Backup of the earlier records: {kept}")


def _export(school: Any, given: argparse.Namespace) -> None:
    for path in school.export_csv(given.folder):
        print(f"wrote {path}")


def run_demo_class(given: argparse.Namespace) -> None:
    """Put the class into the records, or delete it."""
    from lubberline.classroom.demo_class import read_class
    from lubberline.classroom.demo_term import demo_class
    from lubberline.store.fleet import demo_folder
    from lubberline.store.school import open_school

    folder = demo_folder() / "class"
    with closing(open_school()) as school:
        if given.remove:
            group = required(
                school.demo.find(),
                InputError("demo class", "it is not in the records", "there is nothing to delete"),
            )
            school.demo.settle(read_class(folder))
            deletion.delete(school, "class", group.id, group.title, given)
            return
        term = demo_class(folder)
        print(f"in {school.where} now: {school.demo.add(term).title}")
        print(f"{len(term.students)} students, {len(term.sittings)} sittings, {len(term.answers)} answers.")
        print("All of it is invented; nobody in it is real. To delete it: lubberline demo-class --remove")


_FILE = (option("file", metavar="FILE"),)
RECORDS = Command(
    "records",
    "the school's records: backup, restore, export, forget",
    run,
    "Reading and writing the records",
    verbs=(
        Command("where", "say where the records are, and how much they hold", _where),
        Command("backup", "write all records into one new file", _backup, options=_FILE),
        Command(
            "restore",
            "replace the present records with those of a backup",
            _restore,
            options=(
                *_FILE,
                flag("--yes", "replace the present records without asking; a backup of them is made first"),
            ),
        ),
        Command(
            "export",
            "write everything as CSV, one file per table",
            _export,
            options=(option("folder", metavar="DIR"),),
        ),
        *deletion.VERBS,
    ),
)
DEMO_CLASS = Command(
    "demo-class",
    "put the demo class with a whole term into the school's records",
    run_demo_class,
    "Writing the demo class",
    (flag("--remove", "delete it again"), *deletion.CONSENT),
)
