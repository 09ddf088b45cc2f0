"""`lubberline demo-class`: an invented class with a term of sittings, to see every page alive."""

from __future__ import annotations

import argparse
from typing import Any


def add(commands: Any) -> None:
    """Its options."""
    words = "an invented class with a whole term, into the school's records"
    page = commands.add_parser("demo-class", help=words)
    page.add_argument("--remove", action="store_true", help="take it out again")


def run(given: argparse.Namespace) -> None:
    """Put the class into the records, or take it out."""
    from lubberline.classroom.made_up import demo_class
    from lubberline.store.school import open_school
    from lubberline.web.demo import demo_folder

    school = open_school()
    try:
        if given.remove:
            group = school.remove_made_up_class()
            print(f"taken out of {school.where}: {group.title}")
            return
        term = demo_class(demo_folder() / "class")
        group = school.add_made_up_class(term)
        print(f"in {school.where} now: {group.title}")
        print(f"{len(term.students)} students, {len(term.sittings)} sittings, {len(term.answers)} answers.")
        print(
            "All of it is invented: no real person is in it. To take it out: lubberline demo-class --remove"
        )
    finally:
        school.close()
