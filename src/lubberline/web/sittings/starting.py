"""A new sitting: from a blueprint, from a locked file, or from papers made on the Questions page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lubberline.classroom.records import Asked, Sitting
from lubberline.errors import InputError
from lubberline.questions.item import Item
from lubberline.questions.locked_papers import locked_from_text
from lubberline.questions.papers import Paper
from lubberline.store.school import School
from lubberline.store.texts import clean_name
from lubberline.web.forms import SentFile
from lubberline.web.questions.papers import form_letters, paper_asked, papers_of
from lubberline.web.sent import text_of
from lubberline.web.sittings.timing import minutes_of
from lubberline.web.typed import class_meant

MOST_ASKED = 1200
FROM_FILE = "locked file"


def asked_of_papers(papers: Iterable[Paper]) -> tuple[Asked, ...]:
    """The questions of papers with their keys: 'A7' is question 7 of form A."""
    listed = list(papers)
    alone = len(listed) == 1
    asked = tuple(
        Asked(f"{paper.form}{place}", item, "" if alone else paper.form)
        for paper in listed
        for place, item in enumerate(paper.items, start=1)
    )
    if len({one.key for one in asked}) != len(asked):
        raise InputError("forms", "the letters of two forms run into each other", "letters such as A and B")
    if len(asked) > MOST_ASKED:
        raise InputError("paper", f"{len(asked)} questions", f"at most {MOST_ASKED} in all forms")
    return asked


def asked_of_items(items: Iterable[Item]) -> tuple[Asked, ...]:
    """A practice paper of these questions."""
    return tuple(Asked(f"A{place}", item) for place, item in enumerate(items, start=1))


def papers_for(fields: Mapping[str, str], file: SentFile | None) -> tuple[Paper, ...]:
    """The papers that the form asks for.

    Raises:
        InputError: what is wrong with the blueprint, the file or the forms.
    """
    # A file that was chosen is meant, whatever the list shows.
    if file is None and fields.get("blueprint", "") != FROM_FILE:
        return papers_of(paper_asked(fields))
    if file is None:
        raise InputError("file", "none was chosen", "choose a file of locked papers")
    papers = locked_from_text(file.name, text_of(file))
    letters = form_letters(fields.get("forms", ""))
    chosen = tuple(paper for paper in papers if not letters or paper.form in letters)
    if not chosen or len(chosen) < len(letters):
        there = ", ".join(paper.form for paper in papers)
        raise InputError("forms", "the file has not all of these forms", f"choose among {there}")
    return chosen


def begin(school: School, fields: Mapping[str, str], file: SentFile | None) -> tuple[Sitting, str]:
    """Makes the sitting that the form asks for.

    Returns:
        The sitting, and how its class was meant: see `ClassMeant`.

    Raises:
        InputError: what is wrong, by field; nothing is made then.
    """
    papers = papers_for(fields, file)
    asked = asked_of_papers(papers)
    minutes = minutes_of(fields.get("minutes", ""))
    on_paper = fields.get("on_paper", "") == "1"
    title = clean_name("title", (fields.get("title", "").strip() or papers[0].title)[:60])
    meant = class_meant(school, fields.get("group", ""), fields.get("new_group", ""))
    group = meant.made(school)
    return school.add_sitting(group, "paper", title, asked, minutes=minutes, on_paper=on_paper), meant.said
