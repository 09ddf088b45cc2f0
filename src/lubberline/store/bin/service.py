"""Deleting and bringing back, one transaction per action: `school.bin`."""

from typing import Protocol

from sqlalchemy import Connection

from lubberline.errors import InputError
from lubberline.store.bin import contents, deletion
from lubberline.store.bin.belongings import Kind, Rows
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.bin.deletion import Brought
from lubberline.store.database.changes import LOOK_AGAIN
from lubberline.store.database.engines import checkpoint
from lubberline.store.database.transactions import Service, reads, writes

FILES = ("lesson", "draft")


class Files(Protocol):
    """Writes deleted files back."""

    def bring_back(self, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a lesson's file and its draft; returns what has changed."""


class Bin(Service):
    """Deletes things, lists the bin, and brings things back."""

    deletable = reads(deletion.deletable, whole=True)
    delete = writes(deletion.delete, LOOK_AGAIN)
    forgotten = reads(deletion.forgotten)
    entries = reads(contents.entries)
    entry = reads(contents.entry)

    def delete_for_good(self, kind: Kind, key: str) -> Deletable:
        """Deletes something for good with everything that belongs to it, without a trace in any file."""
        gone = self.transactions.write(
            lambda connection: deletion.delete_for_good(connection, kind, key), lambda _: (LOOK_AGAIN,)
        )
        self._wipe()
        return gone

    def put_file(self, kind: Kind, name: str, title: str, saved: str | None, draft: str | None) -> Binned:
        """Puts a lesson's text into the bin; the caller then deletes the file."""
        thing = Deletable(kind, name, "", title, {kind: 1})
        rows: Rows = {kind: [{"name": name, "saved": saved, "draft": draft}]}
        return self.transactions.write(lambda connection: contents.put(connection, thing, rows))

    def bring_back(self, id: str, files: Files | None = None) -> Brought:
        """Brings something back from the bin; see `deletion.bring_back`.

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
        """Counts the days passed and deletes expired things; returns how many."""
        if not self.entries():
            return 0
        gone = self.transactions.write(contents.look)
        if gone:
            self._wipe()
        return gone

    def _wipe(self) -> None:
        """Removes deleted data from SQLite's files; PostgreSQL does this with its own vacuum.

        Deleted rows are overwritten in the pages (`secure_delete`); the write-ahead log still has the old
        pages until it is emptied. During a long read, such as a backup, that is left to a
        server's next minute or to closing.
        """
        checkpoint(self.transactions.engine)
