"""Deleting from the command line: the command shows first what it deletes; the bin can restore it."""

import argparse
import sys
from typing import Any

from lubberline.commands.options import Command, flag, option
from lubberline.errors import InputError

# Of whatever deletes.
CONSENT = (
    flag("--yes", "delete without asking"),
    flag("--for-good", "delete permanently instead of moving to the bin"),
    flag("--copies", "with --for-good: also delete the program's own copies"),
)


def forget(school: Any, given: argparse.Namespace) -> None:
    """Deletes a student."""
    found = [
        (group, student)
        for group in school.people.groups()
        if given.group in ("", group.title)
        for student in school.people.students(group.id)
        if given.student in (student.id, student.name, student.number)
    ]
    if len(found) > 1:
        listed = "; ".join(f"{student.name} of {group.title}, id {student.id}" for group, student in found)
        raise InputError("STUDENT", f"{len(found)} students match: {listed}", "give the id")
    if found:
        group, student = found[0]
        if delete(school, "student", student.id, f"{student.name} of {group.title}", given):
            print("Anonymous counts remain: how many were in a sitting, and how many chose each option.")
        return
    binned = [
        one
        for one in school.bin.entries()
        if one.kind == "student" and given.student in (one.title, one.id, one.key)
    ]
    if len(binned) == 1 and given.for_good:
        delete(school, "student", binned[0].key, binned[0].title, given, in_the_bin=binned[0].id)
        return
    where = "it is already in the bin: add --for-good, or bring it back" if binned else "a name, number or id"
    raise InputError("STUDENT", f"there is no '{given.student}'", where)


def delete(
    school: Any, kind: str, key: str, title: str, given: argparse.Namespace, in_the_bin: str = ""
) -> bool:
    """Shows what will be deleted, asks, and deletes it.

    Args:
        school: the records.
        kind: of the thing.
        key: its id.
        title: for people.
        given: with the options of `CONSENT`.
        in_the_bin: its id there, where it is in the bin already.

    Returns:
        Whether it was deleted.

    Raises:
        InputError: nobody can be asked, and `--yes` was not given.
    """
    thing = school.bin.entry(in_the_bin) if in_the_bin else school.bin.deletable(kind, key)
    copies = school.copies.holding(key) if given.for_good else ()
    print(f"{title}: {thing.words}.")
    for copy in copies:
        print(f"Still in the program's own copy {copy}{' (it will be deleted too)' if given.copies else ''}")
    wanted = "Delete it for good? It cannot be brought back." if given.for_good else "Move it to the bin?"
    if not _may(wanted, given, thing.words):
        print("Nothing was deleted.")
        return False
    if not given.for_good:
        gone = school.bin.delete(kind, key)
        print(f"Deleted: {gone.words}. In the bin for 30 days.")
        print(f"To bring it back: lubberline records bring-back {gone.id}")
        return True
    gone = school.bin.empty(in_the_bin) if in_the_bin else school.bin.delete_for_good(kind, key)
    print(f"Deleted for good: {gone.words}.")
    _delete_copies(copies, given)
    print("Backups and exports that you made yourself still contain it.")
    return True


def _may(wanted: str, given: argparse.Namespace, words: str) -> bool:
    if given.yes:
        return True
    if not sys.stdin.isatty():
        raise InputError("--yes", f"missing; this would be deleted: {words}", "add --yes to delete it")
    return input(f"{wanted} [y/N] ").strip().lower() in ("y", "yes")


def _delete_copies(copies: tuple[Any, ...], given: argparse.Namespace) -> None:
    if not copies:
        return
    asks = not (given.copies or given.yes) and sys.stdin.isatty()
    if given.copies or (asks and input("Delete these copies too? [y/N] ").strip().lower() in ("y", "yes")):
        for copy in copies:
            try:
                copy.unlink(missing_ok=True)
            except OSError as error:
                raise InputError(
                    str(copy), error.strerror or "cannot be deleted", "delete it by hand"
                ) from None
        print(f"Also deleted: {', '.join(str(copy) for copy in copies)}")
    else:
        print(f"Not deleted: {', '.join(str(copy) for copy in copies)}. Delete them by hand.")


def show(school: Any, _: argparse.Namespace) -> None:
    """Lists the bin."""
    from math import ceil

    from lubberline.store.fleet import home_of

    listed, home = school.bin.entries(), home_of(school)
    for one in listed:
        left = max(1, ceil(one.days_left))
        days = f"{left} day{'s' if left > 1 else ''} left"
        print(f"{one.id}  {one.kind}: {one.title}. {one.words}. Deleted {home.day(one.binned_utc)}, {days}.")
    if not listed:
        print("The bin is empty.")


def bring_back(school: Any, given: argparse.Namespace) -> None:
    """Brings something back."""
    from lubberline.web.shelf import Shelves

    brought = school.bin.bring_back(given.id, Shelves())
    print(f"Brought back: {brought.thing.title}, {brought.thing.words}.")
    for remark in brought.remarks:
        print(remark)


VERBS = (
    Command(
        "forget",
        "delete a student with all their data",
        forget,
        options=(
            option("student", metavar="STUDENT", help="name, number or id"),
            option(
                "--class",
                dest="group",
                default="",
                metavar="TITLE",
                help="title of the class, if several students have the name",
            ),
            *CONSENT,
        ),
    ),
    Command("bin", "list deleted things that can be brought back", show),
    Command(
        "bring-back",
        "bring something back from the bin",
        bring_back,
        options=(option("id", metavar="ID", help="as 'lubberline records bin' lists it"),),
    ),
)
