"""The shelf of lessons: the demo's, and the instructor's own files with the drafts of unsaved changes.

A name has only lower-case letters, digits, - and _, so that it cannot lead outside the folder.
"""

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from lubberline.classroom.lessons.file import GREATEST_BYTES, lesson_from_text
from lubberline.errors import InputError
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.bin.deletion import Bin
from lubberline.textfile import text_of
from lubberline.web.catalogue import demo_folder

NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")
DRAFTS = "drafts"
MOST_LESSONS = 500


class Listed(NamedTuple):
    """A lesson of the shelf.

    Attributes:
        name: of its file, without the ending.
        title: of the lesson; its name if the file has errors.
        about: its aim, or its error.
        minutes: planned; 0 if the file has errors.
        own: whether it is the instructor's own file.
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
    """Checks a lesson's name.

    Raises:
        InputError: for any other.
    """
    if not NAME.fullmatch(name):
        wrong = f"'{name[:60]}' is not a valid lesson name" if name else "the lesson has no name"
        raise InputError(
            "name", wrong, "use lower-case letters, digits, - and _, at most 60, such as my_first_lesson"
        )
    return name


class Shelf:
    """The files.

    Args:
        folder: of the instructor's own lessons, created with the first; by default in the user's data
            folder.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder

    @property
    def folder(self) -> Path:
        """The folder of the instructor's own lessons."""
        if self._folder is None:
            # The database library loads slowly, so it is imported only when needed.
            from lubberline.store.database.engines import data_folder

            self._folder = data_folder() / "lessons"
        return self._folder

    def listed(self) -> list[Listed]:
        """Own lessons first, then the demo's that have no own copy."""
        own = self._names(self.folder)
        drafts = self._names(self.folder / DRAFTS)
        others = [name for name in self._names(_demo()) if name not in own]
        fresh = [name for name in drafts if name not in own and name not in others]
        return [
            self._listed(name, name in own or name in fresh, name in drafts) for name in own + fresh + others
        ]

    def saved(self, name: str) -> str | None:
        """The saved text of a lesson, own before demo; None if there is none.

        Raises:
            InputError: an invalid name, or a file that cannot be read.
        """
        for folder in (self.folder, _demo()):
            path = self._path(folder, name)
            if path.is_file():
                return text_of(path, "a lesson file (Markdown)", GREATEST_BYTES)
        return None

    def draft(self, name: str) -> str | None:
        """The unsaved changes; None if there are none."""
        path = self._path(self.folder / DRAFTS, name)
        return text_of(path, "a draft", GREATEST_BYTES) if path.is_file() else None

    def text(self, name: str) -> str | None:
        """The draft, else the saved text, else None."""
        draft = self.draft(name)
        return self.saved(name) if draft is None else draft

    def is_own(self, name: str) -> bool:
        """Whether the instructor has a file of this name."""
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
        """An own lesson ('lesson') or unsaved changes ('draft'), to be deleted.

        Raises:
            InputError: there is none, or the lesson came with the program.
        """
        from lubberline.store.bin.contents import Deletable

        if kind == "draft" and self.draft(name) is not None:
            return Deletable("draft", name, "", f"unsaved changes of {name}", {"draft": 1})
        if kind == "lesson" and (self.is_own(name) or (self.draft(name) and self.saved(name) is None)):
            return Deletable("lesson", name, "", self._listed(name, True, False).title, {"lesson": 1})
        wrong = "there are no unsaved changes" if kind == "draft" else "it is not your own"
        raise InputError("lesson", f"{name}: {wrong}", "choose another from the list")

    def put_in(self, bin: Bin, thing: Deletable) -> Binned:
        """Moves a lesson, or its draft, to the bin; the files are removed once it is stored there."""
        path = self._path(self.folder, thing.key)
        saved = (
            text_of(path, "a lesson", GREATEST_BYTES) if thing.kind == "lesson" and path.is_file() else None
        )
        binned = bin.put_file(thing.kind, thing.key, thing.title, saved, self.draft(thing.key))
        self.delete(thing.kind, thing.key)
        return binned

    def delete(self, kind: str, name: str) -> None:
        """Deletes a lesson's file with its draft, or the draft alone."""
        self.drop_draft(name)
        if kind == "lesson":
            self._path(self.folder, name).unlink(missing_ok=True)

    def bring_back(self, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a lesson's file and its draft; under another name if that one is in use by now.

        Returns:
            What has changed, as sentences.
        """
        own = self._path(self.folder, name)
        taken = saved is not None and own.is_file() and text_of(own, "a lesson", GREATEST_BYTES) != saved
        taken |= draft is not None and self.draft(name) not in (None, draft)
        to = next(other for other in _others(name) if self.text(other) is None) if taken else name
        if saved is not None:
            self._write(self.folder, to, saved)
        if draft is not None:
            self._write(self.folder / DRAFTS, to, draft)
        return (f"There is another lesson {name} now, so this one was named {to}.",) if taken else ()

    def save(self, name: str, text: str, based: str) -> None:
        """Write a lesson's file, and drop its draft.

        Args:
            name: of the file.
            text: may have errors.
            based: digest of the saved text the changes are based on; '' for a new file.

        Raises:
            InputError: when the file has been changed meanwhile, or there are too many.
        """
        there = self.saved(name)
        if there is not None and there != text and digest_of(there) != based:
            wrong = (
                f"'{name}' was changed elsewhere since you opened it" if based else f"'{name}' exists already"
            )
            raise InputError("name", wrong, "save under another name; your text is kept as a draft")
        if not self.is_own(name) and len(self._names(self.folder)) >= MOST_LESSONS:
            raise InputError(
                "lessons", f"there are already {MOST_LESSONS} lessons", "remove some files from the folder"
            )
        self._write(self.folder, name, text)
        self.drop_draft(name)

    def _listed(self, name: str, own: bool, draft: bool) -> Listed:
        try:
            lesson = lesson_from_text(f"{name}.md", self.text(name) or "")
        except InputError as error:
            return Listed(name, name, str(error), 0.0, own, draft)
        return Listed(name, lesson.title, lesson.aim, lesson.minutes, own, draft)

    @staticmethod
    def _names(folder: Path) -> list[str]:
        return sorted(path.stem for path in folder.glob("*.md") if NAME.fullmatch(path.stem))

    @staticmethod
    def _path(folder: Path, name: str) -> Path:
        return folder / f"{checked_name(name)}.md"

    def _write(self, folder: Path, name: str, text: str) -> None:
        path = self._path(folder, name)
        data = text.encode("utf-8", "replace")
        if len(data) > GREATEST_BYTES:
            raise InputError("text", f"{len(data) // 1000} kB", f"at most {GREATEST_BYTES // 1000} kB")
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
                "lessons", f"{folder.name}: {reason}", "free some space, or make the folder writable"
            ) from None


def _demo() -> Path:
    return demo_folder() / "lessons"


def _others(name: str) -> Iterator[str]:
    """Alternatives to a name in use."""
    for number in range(2, MOST_LESSONS + 3):
        yield f"{name[:55]}-{number}"
