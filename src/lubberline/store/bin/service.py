"""Deleting and bringing back, one transaction an act: `school.bin`."""

from typing import Protocol

from sqlalchemy import Connection

from lubberline.errors import InputError
from lubberline.store.bin import contents, deletion
from lubberline.store.bin.belongings import Kind, Rows
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.bin.deletion import Brought
from lubberline.store.database import LOOK_AGAIN, Service, checkpoint, reads, writes

FILES = ("lesson", "draft")


class Files(Protocol):
    """Where files that were deleted are put back."""

    def bring_back(self, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a lesson's file and its draft; says what is not as it was."""


class Bin(Service):
    """What may be deleted, what is in the bin, and the ways between."""

    deletable = reads(deletion.deletable, whole=True)
    delete = writes(deletion.delete, LOOK_AGAIN)
    forgotten = reads(deletion.forgotten)
    entries = reads(contents.entries)
    entry = reads(contents.entry)

    def delete_for_good(self, kind: Kind, key: str) -> Deletable:
        """Deletes something with all that belongs to it; no file holds a trace of it then."""
        gone = self.transactions.write(
            lambda connection: deletion.delete_for_good(connection, kind, key), lambda _: (LOOK_AGAIN,)
        )
        self._wipe()
        return gone

    def put_file(self, kind: Kind, name: str, title: str, saved: str | None, draft: str | None) -> Binned:
        """Puts a lesson's text into the bin; whoever has the file deletes it when this returns."""
        thing = Deletable(kind, name, "", title, {kind: 1})
        rows: Rows = {kind: [{"name": name, "saved": saved, "draft": draft}]}
        return self.transactions.write(lambda connection: contents.put(connection, thing, rows))

    def bring_back(self, id: str, files: Files | None = None) -> Brought:
        """Moves something out of the bin, back to where it was; see `deletion.bring_back`.

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

        return self.transactions.write(act, lambda _: (LOOK_AGAIN,))

    def empty(self, id: str) -> Binned:
        """Deletes something in the bin for good."""
        gone = self.transactions.write(lambda connection: contents.delete(connection, id))
        self._wipe()
        return gone

    def look(self) -> int:
        """Counts the days that passed and deletes what was there long enough; says how many things went."""
        if not self.entries():
            return 0
        gone = self.transactions.write(contents.look)
        if gone:
            self._wipe()
        return gone

    def _wipe(self) -> None:
        """Sees that what was deleted is not in SQLite's files either; PostgreSQL vacuums by itself.

        Deleted rows are overwritten in the pages (`secure_delete`); the write-ahead file still has the pages
        as they were, until it is emptied. While somebody reads for long, a backup say, that is left to a
        server's next minute or to closing.
        """
        checkpoint(self.transactions.engine)
