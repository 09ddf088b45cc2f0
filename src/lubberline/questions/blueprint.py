"""The blueprint of a paper, from TOML: topics, levels, counts, codes and forms."""

import re
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from lubberline.errors import Faults, InputError, check_known
from lubberline.flight.home import Home, check_home
from lubberline.flight.home import Paper as PaperSize
from lubberline.questions.bank import LEVELS, TOPICS, check_jurisdiction, jurisdictions, models, models_of
from lubberline.textfile import text_of, toml_of
from lubberline.typed_fields import typed

GREATEST_FILE_BYTES = 200_000
GREATEST_ITEMS = 300
Count = Annotated[int, Meta(ge=0, le=100)]


class TopicEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How many items of each level a paper has on a topic.

    Attributes:
        name: a key of `bank.TOPICS`.
        recall, apply, judge: how many of each level.
        own: how many written by hand, of any level.
        codes: the instructor's own syllabus codes for this topic.
    """

    name: str
    recall: Count = 0
    apply: Count = 0
    judge: Count = 0
    own: Count = 0
    codes: tuple[str, ...] = ()

    @property
    def total(self) -> int:
        """Items on this topic."""
        return self.recall + self.apply + self.judge + self.own


class Blueprint(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The plan of a paper.

    Attributes:
        title: as printed.
        topic: the topics in the order of the paper.
        forms: letters of the parallel forms.
        total: how many items in all; checked against the topics; optional.
        jurisdiction: the rules for its regulation items; '' for a paper without such items.
        difficulty_tolerance: how far the forms' expected difficulties may differ from each other.
        retired: ids of models that are not used.
        home: where its questions are set; without it, at the school's home.
        elsewhere: the share of questions about other places, of those that depend on the place.
    """

    title: str
    topic: tuple[TopicEntry, ...]
    forms: tuple[str, ...] = ("A",)
    total: int | None = None
    jurisdiction: str = ""
    difficulty_tolerance: Annotated[float, Meta(ge=0.001, le=1.0)] = 0.01
    retired: tuple[str, ...] = ()
    # Not written where not given, so that older papers stay the same to the byte.
    home: Home | msgspec.UnsetType = msgspec.UNSET
    elsewhere: Annotated[float, Meta(ge=0.0, le=1.0)] | msgspec.UnsetType = msgspec.UNSET

    def at(self, home: Home | None) -> "Blueprint":
        """The same at a school's home, with its regulations, unless it says otherwise itself."""
        if home is None or self.home is not msgspec.UNSET:
            return self
        rules = self.jurisdiction or home.regulations
        return msgspec.structs.replace(self, home=home, jurisdiction=rules)

    @property
    def set_at(self) -> Home | None:
        """Where its questions are set; None for anywhere."""
        return None if self.home is msgspec.UNSET else self.home

    @property
    def paper(self) -> PaperSize:
        """The size of its paper."""
        return self.set_at.paper if self.set_at else "A4"

    @property
    def count(self) -> int:
        """Items in each form."""
        return sum(entry.total for entry in self.topic)


def read_blueprint(path: str | Path, jurisdiction: str | None = None) -> Blueprint:
    """Read a blueprint file.

    Args:
        path: of the file.
        jurisdiction: used instead of the file's own; None keeps the file's.

    Raises:
        InputError: if it cannot be read or is not valid.
    """
    text = text_of(path, "a blueprint file (TOML)", GREATEST_FILE_BYTES)
    return blueprint_from_text(Path(path).name, text, jurisdiction)


def blueprint_from_text(source: str, text: str, jurisdiction: str | None = None) -> Blueprint:
    """A blueprint from the text of its file; a jurisdiction given here replaces the file's.

    Raises:
        InputError: naming `source` and the field, for anything that is not valid, is not in the bank or
            contradicts itself.
    """
    right = "give a title, and each [[topic]] a name and counts; see docs/instructors/questions.md"
    blueprint = typed(source, toml_of(source, text), Blueprint, right)
    if jurisdiction is not None:
        blueprint = msgspec.structs.replace(blueprint, jurisdiction=jurisdiction)
    check_blueprint(blueprint, source)
    return blueprint


def check_blueprint(blueprint: Blueprint, source: str = "blueprint") -> None:
    """Check a blueprint against the bank.

    Raises:
        InputError: for anything that is not in the bank or contradicts itself.
    """
    faults = Faults()
    for check in (_check_home, _check_texts, _check_counts, _check_forms, _check_retired):
        with faults.noted():
            check(blueprint, source)
    seen: set[str] = set()
    for number, entry in enumerate(blueprint.topic, start=1):
        with faults.noted():
            _check_entry(blueprint, entry, f"{source}, topic {number}", seen)
    faults.tell()


def _check_entry(blueprint: Blueprint, entry: TopicEntry, where: str, seen: set[str]) -> None:
    check_known(f"{where}, name", "topic", entry.name, TOPICS)
    if entry.name in seen:
        raise InputError(
            f"{where}, name", f"'{entry.name}' is given twice", "put its counts into one [[topic]]"
        )
    seen.add(entry.name)
    if entry.total == 0:
        raise InputError(
            where, f"'{entry.name}' has no items", "give a count for recall, apply, judge or own"
        )
    for level in LEVELS:
        _check_level(blueprint, entry, level, where)


def _check_home(blueprint: Blueprint, source: str) -> None:
    if blueprint.home is not msgspec.UNSET:
        check_home(blueprint.home, f"{source}, home")
    check_jurisdiction(f"{source}, jurisdiction", blueprint.jurisdiction)


def _check_texts(blueprint: Blueprint, source: str) -> None:
    if not blueprint.title.strip():
        raise InputError(f"{source}, title", "the title is empty", "give the paper a title")
    if not blueprint.topic:
        raise InputError(f"{source}, topic", "there are no topics", "give at least one [[topic]]")


def _check_counts(blueprint: Blueprint, source: str) -> None:
    if blueprint.total is not None and blueprint.total != blueprint.count:
        wrong = f"{blueprint.total}, but the topics add up to {blueprint.count}"
        raise InputError(f"{source}, total", wrong, "give the same number, or leave out total")
    if blueprint.count > GREATEST_ITEMS:
        wrong = f"{blueprint.count} items"
        raise InputError(f"{source}, topic", wrong, f"give at most {GREATEST_ITEMS} items")


def _check_forms(blueprint: Blueprint, source: str) -> None:
    if not blueprint.forms or len(set(blueprint.forms)) != len(blueprint.forms):
        raise InputError(f"{source}, forms", f"{list(blueprint.forms)}", "give each form a different letter")
    for form in blueprint.forms:
        if not re.fullmatch(r"[A-Za-z0-9]{1,8}", form):
            raise InputError(f"{source}, forms", f"'{form[:20]}'", "give letters or figures, such as A, B, C")


def _check_retired(blueprint: Blueprint, source: str) -> None:
    for id in blueprint.retired:
        check_known(f"{source}, retired", "model", id, models())


def _check_level(blueprint: Blueprint, entry: TopicEntry, level: str, where: str) -> None:
    asked: int = getattr(entry, level)
    if not asked or usable(blueprint, entry.name, level):
        return
    there = [other for other in LEVELS if usable(blueprint, entry.name, other)]
    if there:
        right = f"use a level of this topic: {', '.join(there)}"
    elif models_of(entry.name, level):
        right = "remove a model from retired"
    else:
        right = f"give a jurisdiction: {', '.join(jurisdictions())}"
    raise InputError(f"{where}, {level}", f"there are no models of '{entry.name}' at this level", right)


def usable(blueprint: Blueprint, topic: str, level: str) -> list[str]:
    """Ids of the models for a topic and level of this blueprint."""
    found = models_of(topic, level, blueprint.jurisdiction)
    return [model.id for model in found if model.id not in blueprint.retired]
