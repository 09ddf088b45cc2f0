"""The door to a school's records: one transaction an act, from any thread.

    school = open_school()          # LUBBERLINE_DATABASE, or a file in the user's data folder
    school = open_school("memory")  # for tests

Every act either happens whole or changes nothing and raises `InputError`, or `Unavailable` where the records
cannot be had at the moment.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from lubberline.classroom.records import (
    Answer,
    Asked,
    ClaimedTime,
    Correction,
    Group,
    LateAnswer,
    Place,
    Seat,
    Sitting,
    SittingKind,
    Student,
)
from lubberline.errors import InputError, Unavailable, UnavailableCode
from lubberline.store import (
    aircraft_log,
    answers,
    backup,
    demo_class,
    export,
    integrity,
    inventory,
    people,
    settings,
    sittings,
)
from lubberline.store.aircraft_log import LogChange, LogEntry
from lubberline.store.bin import deletion
from lubberline.store.bin.service import Bin
from lubberline.store.changes import LOOK_AGAIN, changes_of
from lubberline.store.database import copies, transactions
from lubberline.store.database.engines import checkpoint, engine_for, shown
from lubberline.store.database.outage import outages_of
from lubberline.store.migrations import migrate
from lubberline.store.server import Watch, set_clock
from lubberline.store.settings import broken_settings
from lubberline.unfinished import close_at_end

if TYPE_CHECKING:
    from lubberline.classroom.demo_term import Term

T = TypeVar("T")
# A person waits for a command to begin, and others that begin at once may carry the tables forward first.
OPENING_S = 20.0


def open_school(address: str | None = None, patience_s: float = OPENING_S) -> School:
    """Opens the records, making or carrying forward their tables.

    Args:
        address: a database's address, 'memory', or None for `LUBBERLINE_DATABASE`, else the user's file.
        patience_s: how long another that holds the records, to carry them forward say, is waited for.

    Raises:
        InputError: an address that is none, no database there, one made by a newer program, or a file that
            is damaged.
        Unavailable: the database does not answer, is held by another, or has no room.
    """
    engine = engine_for(address)
    ends_s = time.monotonic() + patience_s
    while True:
        try:
            with transactions.plainly(engine, opening=True):
                integrity.check_whole(engine)
                migrate(engine, keeps=True)
                integrity.check_tables(engine)
                set_clock(engine, starts=True)
        except (InputError, Unavailable) as error:
            if error.code == "locked" and time.monotonic() < ends_s:
                continue
            engine.dispose()
            raise
        return School(engine)


class School:
    """The records of a school.

    Attributes:
        changes: news of what changed, by topics: 'sitting:ID', 'people', 'log:AIRCRAFT', 'settings', and '*'
            for everything.
        bin: deletes things, and brings them back.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.changes = changes_of(engine)
        self._watch: Watch | None = None
        self.bin = Bin(engine, self._read, self._write)
        close_at_end(self)

    @property
    def where(self) -> str:
        """The file or address of the records, without a user or password."""
        return shown(self._engine.url)

    def copies(self) -> tuple[Path, ...]:
        """The copies of the records that the program itself has made and kept; see `copies`."""
        return copies.kept(self._engine)

    def copies_holding(self, id: str) -> tuple[Path, ...]:
        """Those of its own copies in which a student, class or sitting still stands, by its id."""
        return copies.holding(self._engine, id)

    @property
    def outage(self) -> UnavailableCode | None:
        """What kept the last acts from reading or writing the records; None when nothing did."""
        known = outages_of(self._engine)
        return known.reading.code or known.writing.code

    def look_after(self) -> UnavailableCode | None:
        """Tries whether the records can be read and written; gives what `outage` gives then.

        While they could not be written to, by writing something that leaves nothing behind: a full disk shows
        itself in no other way.
        """
        known = outages_of(self._engine)
        with contextlib.suppress(Unavailable):
            transactions.read(self._engine, settings.touch)
            transactions.write(
                self._engine, settings.leave_no_trace if known.writing.code else settings.touch
            )
        return self.outage

    def watch(self) -> None:
        """From now on this is a server: it hears what other programs write, and keeps file and clock."""
        with contextlib.suppress(Unavailable, SQLAlchemyError):
            self.changes.look()
        self._watch = Watch(self._engine, self.changes)
        self._watch.start()

    def close(self) -> None:
        """Ends what listens, and all connections; a file then holds everything without another beside it."""
        if self._watch:
            self._watch.stop()
        self.changes.close()
        self._engine.dispose()
        checkpoint(self._engine, wait_s=2.0)

    def _read(self, act: Callable[..., T], *given: Any, whole: bool = False) -> T:
        return transactions.read(self._engine, lambda connection: act(connection, *given), whole=whole)

    def _write(self, topic: str | Callable[[T], str], act: Callable[..., T], *given: Any) -> T:
        def told(connection: Connection) -> tuple[T, str]:
            done = act(connection, *given)
            named = topic if isinstance(topic, str) else topic(done)
            if named:
                self.changes.within(connection, named)
            return done, named

        done, named = transactions.write(self._engine, told)
        if named:
            self.changes.after(named)
        return done

    # Classes and students

    def groups(self) -> tuple[Group, ...]:
        """All classes."""
        return self._read(people.groups)

    def add_group(self, title: str) -> Group:
        """A new class."""
        return self._write("people", people.add_group, title)

    def students(self, group: str) -> tuple[Student, ...]:
        """The students of a class by name."""
        return self._read(people.students, group)

    def student(self, id: str) -> Student:
        """One student; `InputError` when there is none."""
        return self._read(people.student, id)

    def add_student(self, group: str, name: str, number: str = "") -> Student:
        """A new student of a class."""
        return self._write("people", people.add_student, group, name, number)

    def rename_student(self, id: str, name: str, number: str = "") -> Student:
        """Another name or number for a student."""
        return self._write("people", people.rename, id, name, number)

    def forgotten(self, sitting: str) -> tuple[deletion.Forgotten, ...]:
        """Counts of those who were in a sitting and were deleted."""
        return self._read(deletion.forgotten, sitting)

    def made_up_class(self) -> Group | None:
        """The made-up class, where it is in the records."""
        return self._read(demo_class.there)

    def add_made_up_class(self, term: Term) -> Group:
        """Writes a made-up class with its term, all or nothing; `InputError` when it is there already."""
        return self._write("people", demo_class.add, term)

    # Sittings

    def sittings(self, group: str | None = None) -> tuple[Sitting, ...]:
        """All sittings, or a class's, the latest first."""
        return self._read(sittings.sittings, group)

    def sitting(self, id: str) -> Sitting:
        """One sitting; `InputError` when there is none."""
        return self._read(sittings.sitting, id)

    def sitting_by_code(self, code: str) -> Sitting | None:
        """The open sitting with this code."""
        return self._read(sittings.by_code, code)

    def add_sitting(
        self,
        group: str,
        kind: SittingKind,
        title: str,
        asked: Iterable[Asked],
        source: str = "",
        minutes: float = 0.0,
        on_paper: bool = False,
    ) -> Sitting:
        """A new sitting, open, with its id, time and code."""
        given = (group, kind, title, tuple(asked), source, minutes, on_paper)
        return self._write("people", sittings.add, *given)

    def put_sitting(self, sitting: Sitting) -> Sitting:
        """A sitting as it is, with its own id and times: of a class that is made up."""
        return self._write("people", sittings.put, sitting)

    def move_sitting(
        self,
        id: str,
        *,
        step: int | None = None,
        phase: str | None = None,
        closed: bool | None = None,
        code: str | None = None,
    ) -> Sitting:
        """Moves a sitting on; what is not given stays."""
        return self._write(f"sitting:{id}", sittings.move, id, step, phase, closed, code)

    def enter(
        self, sitting: str, name: str, number: str = "", secret_hash: str = "", form: str = ""
    ) -> Place:
        """A student comes in from a browser; see `sittings.enter`."""
        given = (sitting, name, number, secret_hash, form)
        return self._write(f"sitting:{sitting}", sittings.enter, *given)

    def add_place(self, sitting: str, student: str, form: str = "", began_utc: str = "") -> Place:
        """A student's place in a sitting on paper."""
        given = (sitting, student, form, "", began_utc)
        return self._write(f"sitting:{sitting}", sittings.add_place, *given)

    def place_by_secret(self, sitting: str, secret_hash: str) -> Place | None:
        """The place whose browser holds the secret with this digest."""
        return self._read(sittings.place_by_secret, sitting, secret_hash)

    def seat(self, sitting: str, secret_hash: str) -> Seat:
        """Whom the browser stands for that holds the secret with this digest, in which records."""
        return self._read(sittings.seat, sitting, secret_hash)

    def places(self, sitting: str) -> tuple[Place, ...]:
        """Who is in a sitting."""
        return self._read(sittings.places, sitting)

    def places_of(self, student: str) -> tuple[Place, ...]:
        """Where a student was."""
        return self._read(sittings.places_of, student)

    def release_place(self, sitting: str, student: str) -> Place:
        """Lets a student in again from another browser; see `sittings.release`."""
        return self._write(f"sitting:{sitting}", sittings.release, sitting, student)

    def give_time(self, sitting: str, student: str, extra_min: float) -> Place:
        """Sets a student's time beyond the limit; see `sittings.give_time`."""
        return self._write(f"sitting:{sitting}", sittings.give_time, sitting, student, extra_min)

    def hand_in(self, sitting: str, student: str) -> Place:
        """A student ends."""
        return self._write(f"sitting:{sitting}", sittings.hand_in, sitting, student)

    # Answers

    def record(self, answer: Answer) -> Answer:
        """Takes an answer while it may be taken; see `answers.record`."""
        return self._write(f"sitting:{answer.sitting}", answers.record, answer)

    def receive(self, answer: Answer, claim: ClaimedTime | None) -> Answer | LateAnswer:
        """Takes an answer, or keeps one apart that came late; see `answers.receive`."""
        return self._write(f"sitting:{answer.sitting}", answers.receive, answer, claim)

    def late_answers(self, sitting: str) -> tuple[LateAnswer, ...]:
        """The answers of a sitting that came late, whatever became of them."""
        return self._read(answers.late_of, sitting)

    def decide_late(self, sitting: str, at: int | None, *, take: bool) -> int:
        """Takes a late answer, or all that wait, or not; see `answers.decide`."""
        return self._write(f"sitting:{sitting}", answers.decide, sitting, at, take)

    def record_many(self, given: Iterable[Answer]) -> tuple[Answer, ...]:
        """Takes answers from paper, all or none, whenever they come."""
        listed = tuple(given)

        def act(connection: Connection) -> tuple[Answer, ...]:
            return tuple(answers.put(connection, one) for one in listed)

        topic = f"sitting:{listed[0].sitting}" if listed else ""
        return self._write(topic, act)

    def record_each(
        self, given: Iterable[Answer], claims: Sequence[ClaimedTime | None] = ()
    ) -> tuple[Answer | LateAnswer | InputError, ...]:
        """Takes answers that came together, each as `receive` does, in one transaction.

        Args:
            given: the answers.
            claims: of each, when it was given by its device's clock; none of any without it.

        Returns:
            In the order given, the answer as it was kept, or why it was not; the others are kept all the
            same.
        """
        listed = tuple(given)
        sittings_told = sorted({one.sitting for one in listed})

        told = claims or [None] * len(listed)

        def act(connection: Connection) -> tuple[Answer | LateAnswer | InputError, ...]:
            found: dict[int, Answer | LateAnswer | InputError] = {}
            # In the same order in every server, lest two wait for each other's students.
            for place in sorted(range(len(listed)), key=lambda k: (listed[k].sitting, listed[k].student)):
                try:
                    found[place] = answers.receive(connection, listed[place], told[place])
                except InputError as error:
                    found[place] = error
            for sitting in sittings_told:
                self.changes.within(connection, f"sitting:{sitting}")
            return tuple(found[place] for place in range(len(listed)))

        kept = self._write("", act)
        for sitting in sittings_told:
            self.changes.after(f"sitting:{sitting}")
        return kept

    def answers(self, sitting: str) -> tuple[Answer, ...]:
        """The answers that count in a sitting."""
        return self._read(answers.of_sitting, sitting)

    def answer_trail(self, sitting: str) -> tuple[Answer, ...]:
        """Every answer that was ever taken in a sitting, in order: the way to those that count."""
        return self._read(answers.trail, sitting)

    def answers_of(self, student: str) -> tuple[Answer, ...]:
        """All answers of a student that count."""
        return self._read(answers.of_student, student)

    def correct(self, correction: Correction) -> Correction:
        """Keeps a correction beside what it corrects."""
        return self._write(f"sitting:{correction.sitting}", answers.correct, correction)

    def corrections(self, sitting: str) -> tuple[Correction, ...]:
        """The corrections of a sitting in order."""
        return self._read(answers.corrections_of, sitting)

    # Settings

    def setting(self, name: str) -> str:
        """A setting's value; '' where nothing was set."""
        return self._read(settings.setting, name)

    def set_setting(self, name: str, value: str) -> None:
        """Sets a setting; '' takes it away."""
        self._write("settings", settings.set_setting, name, value)

    def settle(self, name: str, value: str) -> str:
        """Sets a setting where there is none; gives the one that counts, whichever server came first."""
        return self._write("settings", settings.settle, name, value)

    def broken_settings(self) -> tuple[InputError, ...]:
        """What is wrong with each setting that the program cannot have written; each is named."""
        return broken_settings(self._read(settings.everything))

    # Aircraft

    def aircraft_names(self) -> tuple[str, ...]:
        """The aircraft that have log entries."""
        return self._read(aircraft_log.aircraft_names)

    def log_entries(self, aircraft: str) -> tuple[LogEntry, ...]:
        """An aircraft's log."""
        return self._read(aircraft_log.entries, aircraft)

    def add_log_entry(
        self, aircraft: str, typed: Mapping[str, str], understood: Mapping[str, Any]
    ) -> LogEntry:
        """A new entry of an aircraft's log, as typed and as understood."""
        return self._write(f"log:{aircraft}", aircraft_log.add, aircraft, dict(typed), dict(understood))

    def correct_log_entry(
        self, id: str, by: str, why: str, typed: Mapping[str, str], understood: Mapping[str, Any]
    ) -> LogEntry:
        """Changes an entry and keeps what it was."""
        given = (id, by, why, dict(typed), dict(understood))
        return self._write(lambda entry: f"log:{entry.aircraft}", aircraft_log.correct, *given)

    def log_trail(self, aircraft: str) -> tuple[LogChange, ...]:
        """What was changed in an aircraft's log."""
        return self._read(aircraft_log.trail, aircraft)

    # Everything

    def export_csv(self, folder: str | Path) -> tuple[Path, ...]:
        """Writes everything as CSV, a file a table; see `export`."""
        return self._read(export.export_csv, Path(folder), whole=True)

    def backup(self, path: str | Path) -> None:
        """Writes everything into one new file; see `backup`."""
        self._read(backup.write, Path(path), whole=True)

    def counted(self) -> dict[str, int]:
        """How many there are of each kind; see `counting`."""
        return self._read(inventory.counts, whole=True)

    def restore(self, path: str | Path) -> Path | None:
        """Puts the records of a backup in the place of what is here, all or nothing; see `restoring`."""
        with backup.staged(Path(path)) as source:
            return self._write(LOOK_AGAIN, backup.replace, source)
