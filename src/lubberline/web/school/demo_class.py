"""The demo class as the pages need it: its term, and what of it is its own."""

from __future__ import annotations

from functools import cache

from lubberline.classroom.demo_class import read_class
from lubberline.classroom.demo_term import Term, demo_class
from lubberline.store.school import School
from lubberline.web.catalogue import demo_folder


@cache
def term() -> Term:
    """The demo class's term, made once: the same every time."""
    return demo_class(demo_folder() / "class")


def settle(school: School) -> None:
    """Sees that it is known what of the demo class is its own, before any of it is counted or deleted."""
    if school.made_up_class() is not None:
        school.bin.settle_demo(read_class(demo_folder() / "class"))
