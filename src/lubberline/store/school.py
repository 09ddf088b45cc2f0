"""Access to a school's records: one transaction per action, from any thread.

    school = open_school()          # LUBBERLINE_DATABASE, or a file in the user's data folder
    school = open_school("memory")  # for tests
    school.people.add_group("Spring")

Every action either succeeds completely or changes nothing and raises `InputError`, or `Unavailable` in
an outage.
"""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from lubberline.errors import InputError, Unavailable, UnavailableCode
from lubberline.store import backup, export, integrity, inventory, settings
from lubberline.store.aircraft_log import AircraftLog
from lubberline.store.answers import Answers
from lubberline.store.bin.deletion import Bin
from lubberline.store.database import (
    LOOK_AGAIN,
    Copies,
    Service,
    Transactions,
    checkpoint,
    engine_for,
    outages_of,
    plainly,
    reads,
    shown,
)
from lubberline.store.demo_class import Demo
from lubberline.store.migrations import migrate
from lubberline.store.people import People
from lubberline.store.server import Watch, set_clock
from lubberline.store.settings import Settings
from lubberline.store.sittings import Sittings
from lubberline.unfinished import close_at_end

# A command may have to wait at its start while another process upgrades the tables.
OPENING_S = 20.0


def open_school(address: str | None = None, patience_s: float = OPENING_S) -> School:
    """Opens the records, creating or upgrading their tables.

    Args:
        address: a database's address, 'memory', or None for `LUBBERLINE_DATABASE`, else the user's file.
        patience_s: how long to wait for another process that has locked the records.

    Raises:
        InputError: an invalid address, a missing database, one made by a newer program, or a file that
            is damaged.
        Unavailable: the database does not answer, is locked, or has no space.
    """
    engine = engine_for(address)
    transactions = Transactions(engine)
    ends_s = time.monotonic() + patience_s
    while True:
        try:
            with plainly(engine, opening=True):
                integrity.check_whole(engine)
                migrate(engine, keeps=True)
                integrity.check_tables(engine)
                set_clock(transactions, starts=True)
        except (InputError, Unavailable) as error:
            if error.code == "locked" and time.monotonic() < ends_s:
                continue
            engine.dispose()
            raise
        return School(transactions)


class School(Service):
    """The records of a school.

    Attributes:
        people: classes and students.
        sittings: and the places of students in them.
        answers: and those that came late, and corrections.
        settings: the school's, by name.
        log: the aircraft's.
        demo: the demo class.
        bin: deletes things, and brings them back.
        copies: the program's own copies.
        changes: notices of changes; see `Transactions`.
    """

    export_csv = reads(export.export_csv, whole=True)
    backup = reads(backup.write, whole=True)
    counts = reads(inventory.counts, whole=True)

    def __init__(self, transactions: Transactions) -> None:
        super().__init__(transactions)
        self.people = People(transactions)
        self.sittings = Sittings(transactions)
        self.answers = Answers(transactions)
        self.settings = Settings(transactions)
        self.log = AircraftLog(transactions)
        self.demo = Demo(transactions)
        self.bin = Bin(transactions)
        self.copies = Copies(transactions.engine)
        self.changes = transactions.changes
        self._watch: Watch | None = None
        close_at_end(self)

    @property
    def where(self) -> str:
        """The file or address of the records, without a user or password."""
        return shown(self.transactions.engine.url)

    @property
    def outage(self) -> UnavailableCode | None:
        """The code of the present outage of reading or writing; None for none."""
        known = outages_of(self.transactions.engine)
        return known.reading.code or known.writing.code

    def look_after(self) -> UnavailableCode | None:
        """Tries to read and write the records; returns `outage` afterwards.

        After a failed write, it writes something that leaves no trace, as a full disk
        cannot be detected otherwise.
        """
        known = outages_of(self.transactions.engine)
        with contextlib.suppress(Unavailable):
            self.transactions.read(settings.touch)
            self.transactions.write(settings.leave_no_trace if known.writing.code else settings.touch)
        return self.outage

    def restore(self, path: str | Path, folder: Path | None = None) -> Path | None:
        """Replaces the present records by those of a backup, or changes nothing; see `backup.replace`.

        With the school's folder, its own files are replaced too, if the backup was made with such files.
        """
        with (
            backup.staged(Path(path)) as source,
            backup.files_replaced(folder, backup.files_in(source)) as present,
        ):
            return self.transactions.write(
                lambda connection: backup.replace(connection, source, present), lambda _: (LOOK_AGAIN,)
            )

    def watch(self) -> None:
        """Starts the server's background work: changes by other programs, the file, and the clock."""
        with contextlib.suppress(Unavailable, SQLAlchemyError):
            self.changes.look()
        self._watch = Watch(self.transactions)
        self._watch.start()

    def close(self) -> None:
        """Ends listeners and connections; a file is then complete without auxiliary files."""
        if self._watch:
            self._watch.stop()
        self.changes.close()
        self.transactions.engine.dispose()
        checkpoint(self.transactions.engine, wait_s=2.0)
