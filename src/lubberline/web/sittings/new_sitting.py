"""A new sitting: its papers, its class and its time limit.

Its papers come from a blueprint, from a locked file, or from the Questions page. Typed values take priority
over a list's selection.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from lubberline.classroom.records import Asked, Sitting
from lubberline.flight.home import Home
from lubberline.questions.bank import jurisdictions
from lubberline.questions.item import Item
from lubberline.questions.locked_papers import GREATEST_BYTES, locked_from_text
from lubberline.questions.papers import Paper
from lubberline.store.fleet import home_of
from lubberline.store.texts import clean_name
from lubberline.web.kit import (
    Form,
    InputError,
    Request,
    Response,
    School,
    SentFile,
    get,
    go_to,
    number_in,
    page,
    post,
    records,
    shared,
)
from lubberline.web.questions.papers import OWN, form_letters, paper_asked, papers_of, shelf

MOST_ASKED = 1200
LONGEST_MIN = 600.0
FROM_FILE = "locked file"
CARRIED = ("text", "items", "jurisdiction", "seed", "forms", "blueprint", "title")
FIELDS = (*CARRIED, "group", "new_group", "minutes", "on_paper")


# The class


class ClassMeant(NamedTuple):
    """The class chosen in a form.

    Attributes:
        id: of the class; '' for a new one.
        title: of the new one.
        said: 'new' or 'typed' if the list showed another class, else ''.
    """

    id: str
    title: str
    said: str

    def made(self, school: School) -> str:
        """Its id; a new class is added."""
        return self.id or school.people.add_group(self.title).id


def class_meant(school: School, chosen: str, title: str) -> ClassMeant:
    """The class with the typed title, new if there is none; without a title, the one chosen.

    Raises:
        InputError: neither, an unknown id, an invalid title, or the demo class.
    """
    typed = " ".join(title.split())
    demo = school.demo.find()
    if typed:
        alike = [one for one in school.people.groups() if one.title.casefold() == typed.casefold()]
        if demo in alike:
            raise InputError("class", "that is the demo class, with invented students", "type another name")
        if alike:
            return ClassMeant(alike[0].id, "", "" if alike[0].id == chosen else "typed")
        return ClassMeant("", clean_name("class", typed), "new" if chosen else "")
    if not chosen:
        raise InputError("class", "none is chosen", "choose a class, or name a new one")
    if demo is not None and chosen == demo.id:
        raise InputError(
            "class", "that is the demo class, with invented students", "choose another, or a new one"
        )
    if all(one.id != chosen for one in school.people.groups()):
        raise InputError("class", "there is no class with this id", "choose one from the list", "no-class")
    return ClassMeant(chosen, "", "")


def real_groups(school: School) -> list[tuple[str, str]]:
    """Ids and titles of the classes for a new sitting: all except the demo class."""
    demo = school.demo.find()
    return [(one.id, one.title) for one in school.people.groups() if one != demo]


# The papers and the time


def minutes_of(text: str, where: str = "minutes") -> float:
    """Minutes as typed; empty for none. `where` names the field.

    Raises:
        InputError: not a number, or out of bounds.
    """
    minutes = number_in(text.strip() or "0")
    if not 0.0 <= minutes <= LONGEST_MIN:
        raise InputError(
            where, f"'{text.strip()[:20]}' is not a time", f"enter 0 (none) to {LONGEST_MIN:g} minutes"
        )
    return minutes


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
        raise InputError(
            "forms", "the letter of one form is the start of another", "use letters such as A and B"
        )
    if len(asked) > MOST_ASKED:
        raise InputError("paper", f"{len(asked)} questions", f"at most {MOST_ASKED} in all forms")
    return asked


def asked_of_items(items: Iterable[Item]) -> tuple[Asked, ...]:
    """A practice paper of these questions."""
    return tuple(Asked(f"A{place}", item) for place, item in enumerate(items, start=1))


def papers_for(
    fields: Mapping[str, str], file: SentFile | None, home: Home, of_school: Sequence[Item] = ()
) -> tuple[Paper, ...]:
    """The papers asked for in the form.

    Raises:
        InputError: an error in the blueprint, the file or the forms.
    """
    # A chosen file takes priority over the list.
    if file is None and fields.get("blueprint", "") != FROM_FILE:
        return papers_of(paper_asked(fields), home, of_school)
    if file is None:
        raise InputError("file", "none was chosen", "choose a file of locked papers")
    papers = locked_from_text(file.name, file.text)
    letters = form_letters(fields.get("forms", ""))
    chosen = tuple(paper for paper in papers if not letters or paper.form in letters)
    if not chosen or len(chosen) < len(letters):
        there = ", ".join(paper.form for paper in papers)
        raise InputError("forms", "the file does not have all of these forms", f"choose from {there}")
    return chosen


def begin(
    school: School, fields: Mapping[str, str], file: SentFile | None, of_school: Sequence[Item] = ()
) -> tuple[Sitting, str]:
    """Makes the sitting asked for in the form; `of_school` are the school's own items.

    Returns:
        The sitting, and how its class was chosen: see `ClassMeant`.

    Raises:
        InputError: for a wrong field; nothing is made then.
    """
    papers = papers_for(fields, file, home_of(school), of_school)
    asked = asked_of_papers(papers)
    minutes = minutes_of(fields.get("minutes", ""))
    on_paper = fields.get("on_paper", "") == "1"
    title = clean_name("title", (fields.get("title", "").strip() or papers[0].title)[:60])
    meant = class_meant(school, fields.get("group", ""), fields.get("new_group", ""))
    group = meant.made(school)
    return school.sittings.add(group, "paper", title, asked, minutes=minutes, on_paper=on_paper), meant.said


# The page


def carry_over(request: Request, form: Form) -> Response:
    """POST /sittings/new: the page with papers as they stand on the Questions page."""
    return show(request, Form({name: form.get(name, "") for name in CARRIED}))


def show(request: Request, form: Form | None = None, error: InputError | None = None) -> Response:
    """GET /sittings/new: the form for a new sitting."""
    fields, blueprints = request.query_params if form is None else form, shelf()
    return page(
        request,
        "sittings/new.html",
        error,
        fields={name: fields.get(name, "") for name in FIELDS},
        chosen=fields.get("blueprint", "") or next((one.name for one in blueprints), ""),
        own=OWN,
        from_file=FROM_FILE,
        shelf=blueprints,
        groups=real_groups(records(request)),
        jurisdictions=jurisdictions(),
    )


def add(request: Request, form: Form) -> Response:
    """POST /sittings: makes the sitting and shows it."""
    items = [record.item for record in shared(request).shelves.items().values()]
    made, said = begin(records(request), form, form.file, items)
    return go_to(f"/sittings/{made.id}{f'?class={said}' if said else ''}")


ROUTES = [
    post("/sittings", add, show, file_bytes=GREATEST_BYTES),
    get("/sittings/new", show),
    post("/sittings/new", carry_over),
]
