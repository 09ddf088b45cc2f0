"""A shelf of files: those that came with the program, and the school's own with drafts of unsaved changes.

A name has only lower-case letters, digits, - and _, so that it cannot lead outside the folder.
"""

import hashlib
import os
import re
import tempfile
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from lubberline.classroom.lessons.file import GREATEST_BYTES, lesson_from_text
from lubberline.classroom.lessons.lesson import Lesson
from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.questions.handwritten import HandwrittenItem, items_from_text, items_of_folder
from lubberline.simulation.live.address import Crafts
from lubberline.simulation.misconceptions.idea import Speech
from lubberline.simulation.scenes import (
    DRAFTS,
    FOLDER,
    GREATEST_FILE_BYTES,
    Library,
    SchoolScenes,
    library,
    own_scene,
    written_at,
)
from lubberline.simulation.words import Words, words_from_text, words_of_folder
from lubberline.store.bin.belongings import Kind
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.bin.deletion import Bin
from lubberline.store.database.engines import school_folder
from lubberline.store.fleet import demo_folder
from lubberline.textfile import text_of

NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")
MOST_FILES = 500


class Read(NamedTuple):
    """What a list says of a file: its title, what it is about, and how many minutes it takes (0: unknown)."""

    title: str
    about: str
    minutes: float = 0.0


class Own(NamedTuple):
    """What files may name: scenes, and items written by hand by their models."""

    scenes: Library
    items: Mapping[str, HandwrittenItem] = {}


def _lesson(name: str, text: str, own: Own) -> Read:
    lesson = lesson_from_text(f"{name}.md", text, own.scenes, own.items)
    return Read(lesson.title, lesson.aim, lesson.minutes)


def _demo_lessons() -> Mapping[str, Path]:
    return {path.stem: path for path in (demo_folder() / "lessons").glob("*.md")}


class Sort(NamedTuple):
    """A sort of files.

    Attributes:
        kind: of one of them in the bin.
        what: of one of them, for people.
        folder: in the school's.
        ending: of their names.
        most_bytes: of one.
        read: reads one from its name, its text and what it may name.
        given: those that came with the program, by name.
        copied: whether saving one of those makes an own copy, which takes its place.
    """

    kind: Kind
    what: str
    folder: str
    ending: str
    most_bytes: int
    read: Callable[[str, str, Own], Read]
    given: Callable[[], Mapping[str, Path]] = dict
    copied: bool = False

    @property
    def named(self) -> str:
        """A file of the sort, for messages: 'a lesson file (Markdown)'."""
        what = self.what if self.what.startswith("file") else f"{self.what} file"
        return f"a {what} ({'Markdown' if self.ending == '.md' else 'TOML'})"


def _scene(name: str, text: str, own: Own) -> Read:
    entry = own_scene(name, text, own.scenes.aircraft).entry
    return Read(entry.title, entry.aim)


def _package_scenes() -> Mapping[str, Path]:
    return {path.stem: path for path in FOLDER.glob("*.toml")}


def _items(name: str, text: str, own: Own) -> Read:
    records = items_from_text(f"{name}.md", text)
    return Read(name, f"{len(records)}: {', '.join(record.title for record in records)}")


def _words(name: str, text: str, own: Own) -> Read:
    words = words_from_text(f"{name}.toml", text)
    return Read(name, ", ".join([*words.parts.values(), *words.ideas.values(), *words.terms.values()]))


SCENES = Sort("scene", "scene", "scenes", ".toml", GREATEST_FILE_BYTES, _scene, _package_scenes)
ITEMS = Sort("items", "file of items", "items", ".md", GREATEST_BYTES, _items)
WORDS = Sort("words", "file of words", "words", ".toml", GREATEST_BYTES, _words)
LESSONS = Sort("lesson", "lesson", "lessons", ".md", GREATEST_BYTES, _lesson, _demo_lessons, copied=True)


class Listed(NamedTuple):
    """A file of the shelf.

    Attributes:
        name: of its file, without the ending.
        title: of the lesson, scene or item; its name if the file has errors.
        about: its aim, or its error.
        minutes: planned; 0 if the file has errors.
        own: whether it is the school's own file.
        draft: whether there are unsaved changes.
    """

    name: str
    title: str
    about: str
    minutes: float
    own: bool
    draft: bool


def digest_of(text: str) -> str:
    """A digest of a text, to find out whether a file was changed meanwhile."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def checked_name(name: str) -> str:
    """Checks the name of a file.

    Raises:
        InputError: for any other.
    """
    if not NAME.fullmatch(name):
        wrong = f"'{name[:60]}' is not a valid name" if name else "there is no name"
        raise InputError(
            "name", wrong, "use lower-case letters, digits, - and _, at most 60, such as my_first_lesson"
        )
    return name


class Shelf:
    """The files of a sort.

    Args:
        folder: of the school's own, created with the first; by default in the school's folder.
        sort: of files.
        own: what the files may name.
    """

    def __init__(
        self,
        folder: Path | None = None,
        sort: Sort = LESSONS,
        own: Callable[[], Own] = lambda: Own(library()),
    ) -> None:
        self.folder = folder or school_folder() / sort.folder
        self.sort = sort
        self._own = own

    def listed(self) -> list[Listed]:
        """Own files first, then those of the program that have no own copy."""
        own = self._names(self.folder)
        drafts = self._names(self.folder / DRAFTS)
        others = [name for name in sorted(self.sort.given()) if name not in own]
        fresh = [name for name in drafts if name not in own and name not in others]
        return [
            self._listed(name, name in own or name in fresh, name in drafts) for name in own + fresh + others
        ]

    def saved(self, name: str) -> str | None:
        """The saved text of a file, the own before the program's; None if there is none.

        Raises:
            InputError: an invalid name, or a file that cannot be read.
        """
        for path in (self._path(self.folder, name), self.sort.given().get(name)):
            if path is not None and path.is_file():
                return text_of(path, self.sort.named, self.sort.most_bytes)
        return None

    def draft(self, name: str) -> str | None:
        """The unsaved changes; None if there are none."""
        path = self._path(self.folder / DRAFTS, name)
        return text_of(path, "a draft", self.sort.most_bytes) if path.is_file() else None

    def text(self, name: str) -> str | None:
        """The draft, else the saved text, else None."""
        draft = self.draft(name)
        return self.saved(name) if draft is None else draft

    def is_own(self, name: str) -> bool:
        """Whether the school has a file of this name."""
        return self._path(self.folder, name).is_file()

    def keep_draft(self, name: str, text: str) -> None:
        """Stores a draft, unless it equals the saved text."""
        if text == self.saved(name):
            self.drop_draft(name)
        else:
            self._write(self.folder / DRAFTS, name, text)

    def drop_draft(self, name: str) -> None:
        """Discards unsaved changes."""
        self._path(self.folder / DRAFTS, name).unlink(missing_ok=True)

    def deletable(self, kind: str, name: str) -> Deletable:
        """An own file (of the sort's kind) or unsaved changes ('draft'), to be deleted.

        Raises:
            InputError: there is none, or the file came with the program.
        """
        own = self.sort.kind
        if kind == "draft" and self.draft(name) is not None:
            return Deletable("draft", self._key(name), "", f"unsaved changes of {name}", {"draft": 1})
        if kind == own and (self.is_own(name) or (self.draft(name) and self.saved(name) is None)):
            return Deletable(own, name, "", self._listed(name, True, False).title, {own: 1})
        wrong = "there are no unsaved changes" if kind == "draft" else "it is not your own"
        raise InputError(self.sort.what, f"{name}: {wrong}", "choose another from the list")

    def _key(self, name: str) -> str:
        """A draft's key in the bin, which holds drafts of every sort: a lesson's is its name alone."""
        return name if self.sort is LESSONS else f"{self.sort.folder}/{name}"

    def put_in(self, bin: Bin, thing: Deletable) -> Binned:
        """Moves a file, or its draft, to the bin; the files are removed once it is stored there."""
        name = thing.key.rpartition("/")[2]
        path, is_file = self._path(self.folder, name), thing.kind != "draft"
        saved = text_of(path, self.sort.named, self.sort.most_bytes) if is_file and path.is_file() else None
        binned = bin.put_file(thing.kind, thing.key, thing.title, saved, self.draft(name))
        self.delete(thing.kind, name)
        return binned

    def delete(self, kind: str, key: str) -> None:
        """Deletes a file with its draft, or the draft alone."""
        name = key.rpartition("/")[2]
        self.drop_draft(name)
        if kind != "draft":
            self._path(self.folder, name).unlink(missing_ok=True)

    def bring_back(self, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a file and its draft; under another name if that one is in use by now.

        Returns:
            What has changed, as sentences.
        """
        name = name.rpartition("/")[2]
        own = self._path(self.folder, name)
        there = text_of(own, self.sort.named, self.sort.most_bytes) if own.is_file() else None
        taken = saved is not None and there not in (None, saved)
        taken |= draft is not None and self.draft(name) not in (None, draft)
        to = next(other for other in _others(name) if self.text(other) is None) if taken else name
        if saved is not None:
            self._write(self.folder, to, saved)
        if draft is not None:
            self._write(self.folder / DRAFTS, to, draft)
        return (
            (f"There is another {self.sort.what} {name} now, so this one was named {to}.",) if taken else ()
        )

    def free_name(self, title: str) -> str:
        """A name for a new file with this title."""
        plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
        name = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:50] or self.sort.what
        return next(other for other in (name, *_others(name)) if self.text(other) is None)

    def save(self, name: str, text: str, based: str) -> None:
        """Write a file, and drop its draft.

        Args:
            name: of the file.
            text: may have errors.
            based: digest of the saved text the changes are based on; '' for a new file.

        Raises:
            InputError: when the file has been changed meanwhile, there are too many, or the program has
                one of this name that is not to be copied.
        """
        if not self.sort.copied and name in self.sort.given():
            wrong = f"'{name}' came with the program"
            raise InputError("name", wrong, "save under another name; your text is kept as a draft")
        there = self.saved(name)
        if there is not None and there != text and digest_of(there) != based:
            wrong = (
                f"'{name}' was changed elsewhere since you opened it" if based else f"'{name}' exists already"
            )
            raise InputError("name", wrong, "save under another name; your text is kept as a draft")
        if not self.is_own(name) and len(self._names(self.folder)) >= MOST_FILES:
            raise InputError(
                self.sort.folder, f"there are already {MOST_FILES} files", "remove some from the folder"
            )
        self._write(self.folder, name, text)
        self.drop_draft(name)

    def _listed(self, name: str, own: bool, draft: bool) -> Listed:
        try:
            read = self.sort.read(name, self.text(name) or "", self._own())
        except InputError as error:
            return Listed(name, name, str(error), 0.0, own, draft)
        return Listed(name, read.title, read.about, read.minutes, own, draft)

    def _names(self, folder: Path) -> list[str]:
        found = folder.glob(f"*{self.sort.ending}")
        return sorted(path.stem for path in found if NAME.fullmatch(path.stem))

    def _path(self, folder: Path, name: str) -> Path:
        return folder / f"{checked_name(name)}{self.sort.ending}"

    def _write(self, folder: Path, name: str, text: str) -> None:
        path = self._path(folder, name)
        data = text.encode("utf-8", "replace")
        if len(data) > self.sort.most_bytes:
            right = f"at most {self.sort.most_bytes // 1000} kB"
            raise InputError("text", f"{len(data) // 1000} kB", right)
        temporary = ""
        try:
            folder.mkdir(parents=True, exist_ok=True)
            handle, temporary = tempfile.mkstemp(dir=folder, prefix=".writing-")
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            Path(temporary).replace(path)
        except OSError as error:
            if temporary:
                Path(temporary).unlink(missing_ok=True)
            reason = error.strerror or "it cannot be written"
            raise InputError(
                self.sort.folder, f"{folder.name}: {reason}", "free some space, or make the folder writable"
            ) from None


class Shelves:
    """The school's folder, with a shelf for each sort of files.

    Attributes:
        folder: the school's.
        scenes_now: reads the library of scenes with the school's own.
        by_kind: the shelves.
    """

    def __init__(
        self,
        folder: Path | None = None,
        home: Callable[[], Home | None] = lambda: None,
        aircraft: Callable[[], Crafts] = dict,
    ) -> None:
        self.folder = folder or school_folder()
        self.scenes_now = SchoolScenes(self.folder / SCENES.folder, home, aircraft).library
        self._words, self._seen = Words(), list[tuple[Path, int, int]]()
        self.by_kind: dict[str, Shelf] = {
            sort.kind: Shelf(self.folder / sort.folder, sort, self.own)
            for sort in (LESSONS, SCENES, ITEMS, WORDS)
        }

    def own(self) -> Own:
        """The scenes, and the school's own items."""
        return Own(self.scenes_now(), self.items())

    def items(self) -> dict[str, HandwrittenItem]:
        """The school's own items by their models."""
        return items_of_folder(self.folder / ITEMS.folder)

    def words(self) -> Words:
        """The school's own words, those of its first file before those of the others."""
        paths = sorted((self.folder / WORDS.folder).glob(f"*{WORDS.ending}"))
        seen = [(path, *written_at(path)) for path in paths]
        if seen != self._seen:
            self._words, self._seen = words_of_folder(self.folder / WORDS.folder), seen
        return self._words

    def speech(self) -> Speech:
        """How the school says things, as when `words` was last asked for."""
        return self._words.speech

    def lesson(self, name: str, text: str) -> Lesson:
        """A lesson that may play the school's scenes and ask its items.

        Raises:
            InputError: as `lesson_from_text`.
        """
        return lesson_from_text(name, text, self.scenes_now(), self.items())

    def of(self, kind: str, key: str = "") -> Shelf:
        """The shelf of a kind of file; of a draft, by its key in the bin.

        Raises:
            InputError: there is none.
        """
        folder = key.rpartition("/")[0] or LESSONS.folder
        for shelf in self.by_kind.values():
            if shelf.sort.kind == kind or (kind == "draft" and shelf.sort.folder == folder):
                return shelf
        raise InputError("kind", f"there are no files of kind '{kind[:20]}'", "use the page's buttons")

    def bring_back(self, kind: Kind, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a file of a kind and its draft back; returns what has changed."""
        return self.of(kind, name).bring_back(name, saved, draft)


def _others(name: str) -> Iterator[str]:
    """Alternatives to a name in use."""
    for number in range(2, MOST_FILES + 3):
        yield f"{name[:55]}-{number}"
