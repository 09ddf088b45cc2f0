"""`lubberline demo-class`: an invented class with a term of sittings, to see every page alive."""

from __future__ import annotations

import argparse
from typing import Any

from lubberline.commands import deletion


def add(commands: Any) -> None:
    """Its options."""
    words = "the demo class, invented, with a whole term, into the school's records"
    page = commands.add_parser("demo-class", help=words)
    page.add_argument("--remove", action="store_true", help="delete it again")
    deletion.add_consent(page)


def run(given: argparse.Namespace) -> None:
    """Put the class into the records, or delete it."""
    from lubberline.classroom.demo_class import read_class
    from lubberline.classroom.demo_term import demo_class
    from lubberline.errors import InputError
    from lubberline.store.school import open_school
    from lubberline.web.catalogue import demo_folder

    school = open_school()
    folder = demo_folder() / "class"
    try:
        if given.remove:
            group = school.made_up_class()
            if group is None:
                raise InputError("demo class", "it is not in the records", "nothing has to be deleted")
            school.bin.settle_demo(read_class(folder))
            deletion.delete(school, "class", group.id, group.title, given)
            return
        term = demo_class(folder)
        group = school.add_made_up_class(term)
        print(f"in {school.where} now: {group.title}")
        print(f"{len(term.students)} students, {len(term.sittings)} sittings, {len(term.answers)} answers.")
        print("All of it is invented: no real person is in it. To delete it: lubberline demo-class --remove")
    finally:
        school.close()
