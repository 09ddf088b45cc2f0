"""Deleting and bringing back, one transaction an act: `school.bin`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol

from sqlalchemy import Connection, Engine

from lubberline.errors import InputError
from lubberline.store import demo_class
from lubberline.store.bin import contents, deletion
from lubberline.store.bin.belongings import Kind
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.bin.deletion import Brought
from lubberline.store.changes import LOOK_AGAIN
from lubberline.store.database import transactions

if TYPE_CHECKING:
    from lubberline.classroom.demo_class import DemoClass

FILES = ("lesson", "draft")


class Files(Protocol):
    """Where files that were deleted are put back."""

    def bring_back(self, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a lesson's file and its draft; says what is not as it was."""


class Bin:
    """What may be deleted, what is in the bin, and the ways between.

    Args:
        engine: of the records.
        read: does something that writes nothing.
        write: does something in one transaction, and tells a topic.
    """

    def __init__(self, engine: Engine, read: Callable[..., Any], write: Callable[..., Any]) -> None:
        self._engine, self._read, self._write = engine, read, write

    def settle_demo(self, plan: DemoClass) -> None:
        """Keeps what of the demo class is its own, where an older program did not; see `made_up.settle`."""
        self._write("", demo_class.settle, plan)

    def deletable(self, kind: Kind, key: str) -> Deletable:
        """Something that may be deleted, with what would go; see `deletion.deletable`."""
        found: Deletable = self._read(deletion.deletable, kind, key, whole=True)
        return found

    def delete(self, kind: Kind, key: str) -> Binned:
        """Moves something with all that belongs to it into the bin."""
        gone: Binned = self._write(LOOK_AGAIN, deletion.delete, kind, key)
        return gone

    def delete_for_good(self, kind: Kind, key: str) -> Deletable:
        """Deletes something with all that belongs to it; no file holds a trace of it then."""
        gone: Deletable = self._write(LOOK_AGAIN, deletion.delete_for_good, kind, key)
        deletion.wipe(self._engine)
        return gone

    def put_file(self, kind: Kind, name: str, title: str, saved: str | None, draft: str | None) -> Binned:
        """Puts a lesson's text into the bin; whoever has the file deletes it when this returns."""
        thing = Deletable(kind, name, "", title, {kind: 1})
        rows = {kind: [{"name": name, "saved": saved, "draft": draft}]}
        gone: Binned = self._write("", contents.put, thing, rows)
        return gone

    def entries(self) -> tuple[Binned, ...]:
        """All that is in the bin, the latest first."""
        found: tuple[Binned, ...] = self._read(contents.entries)
        return found

    def entry(self, id: str) -> Binned:
        """One thing of the bin; `InputError` when it is not in it."""
        found: Binned = self._read(contents.entry, id)
        return found

    def bring_back(self, id: str, files: Files | None = None) -> Brought:
        """Moves something out of the bin, back to where it was; see `undeletion.bring_back`.

        Args:
            id: in the bin.
            files: where lessons are written.
        """

        def act(connection: Connection) -> Brought:
            thing = contents.entry(connection, id, held=True)
            if thing.kind not in FILES:
                return deletion.bring_back(connection, id)
            if files is None:
                raise InputError("bin", "it is a lesson's file", "bring it back on the Bin page")
            (row,) = contents.rows_of(connection, id)[thing.kind]
            contents.remove(connection, id)
            return Brought(thing, files.bring_back(**row))

        brought: Brought = self._write(LOOK_AGAIN, act)
        return brought

    def empty(self, id: str) -> Binned:
        """Deletes something in the bin for good."""
        gone: Binned = self._write("", contents.delete, id)
        deletion.wipe(self._engine)
        return gone

    def look(self) -> int:
        """See `look_into_bin`."""
        return look_into_bin(self._engine)


def look_into_bin(engine: Engine) -> int:
    """Counts the days that passed and deletes what was there long enough; says how many things went."""
    if not transactions.read(engine, contents.entries):
        return 0
    gone = transactions.write(engine, contents.look)
    if gone:
        deletion.wipe(engine)
    return gone
