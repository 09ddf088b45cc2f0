"""What was typed wins over what a list beside it happens to show."""

from __future__ import annotations

from typing import NamedTuple

from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.texts import clean_name


class ClassMeant(NamedTuple):
    """The class that a form means.

    Attributes:
        id: of the class; '' for one that is to be made.
        title: of the one that is to be made.
        said: what there is to say where another was chosen: 'new' or 'typed'; else ''.
    """

    id: str
    title: str
    said: str

    def made(self, school: School) -> str:
        """Its id, once it is there."""
        return self.id or school.add_group(self.title).id


def class_meant(school: School, chosen: str, title: str) -> ClassMeant:
    """The class whose title was typed, new where there is none; else the one that was chosen.

    Raises:
        InputError: neither, none with this id, a title that is none, or the demo class.
    """
    typed = " ".join(title.split())
    demo = school.made_up_class()
    if typed:
        alike = [one for one in school.groups() if one.title.casefold() == typed.casefold()]
        if demo in alike:
            raise InputError("class", "that is the demo class: nobody in it is real", "type another name")
        if alike:
            return ClassMeant(alike[0].id, "", "" if alike[0].id == chosen else "typed")
        return ClassMeant("", clean_name("class", typed), "new" if chosen else "")
    if not chosen:
        raise InputError("class", "none is chosen", "choose a class, or name a new one")
    if demo is not None and chosen == demo.id:
        raise InputError("class", "that is the demo class: nobody in it is real", "another one, or a new one")
    if all(one.id != chosen for one in school.groups()):
        raise InputError("class", "there is none with this id", "choose one of the list", "no-class")
    return ClassMeant(chosen, "", "")


def real_groups(school: School) -> list[tuple[str, str]]:
    """Ids and titles of the classes to choose from for something new: all but the demo's."""
    demo = school.made_up_class()
    return [(one.id, one.title) for one in school.groups() if one != demo]
