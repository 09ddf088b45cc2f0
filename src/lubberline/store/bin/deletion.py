"""Deletes things and brings them back, with all their rows, histories included.

A sitting from which a student was deleted keeps its questions, the answers of the others, and
counts without names: how many deleted students had a place in it, and how many of them chose
each option. The rows of a deleted student are in the bin with the student, not with the sitting.
"""

from collections.abc import Iterator
from typing import Any, Protocol

import msgspec
from sqlalchemy import Connection, and_, select

from lubberline.classroom.records import NOT_CHOSEN
from lubberline.errors import InputError, required
from lubberline.store import demo_class, people, settings, sittings
from lubberline.store.bin import belongings, contents
from lubberline.store.bin.belongings import FILES, Kind, Rows
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.database import LOOK_AGAIN, Service, checkpoint, reads, tables, writes


class Forgotten(msgspec.Struct, frozen=True):
    """The number of deleted students who did one thing in a sitting.

    Attributes:
        sitting: id.
        key: of the question; '' for a place.
        chosen: index of the option; -1 for a number, which is not stored, and for a place.
        count: of students.
    """

    sitting: str
    key: str
    chosen: int
    count: int


def deletable(connection: Connection, kind: Kind, key: str) -> Deletable:
    """A thing that can be deleted, with its counts.

    Args:
        connection: to the records.
        kind: 'class', 'student', 'sitting', 'aircraft' or 'entry'; the demo class is 'demo'.
        key: its id; of an aircraft its name.

    Raises:
        InputError: there is none.
    """
    part_of = ""
    if kind in ("class", "demo"):
        people.check_group(connection, key)
        title = next(group.title for group in people.groups(connection) if group.id == key)
        if demo_class.is_demo(connection, key):
            where, part_of = demo_class.belonging(connection, key)
            return Deletable("demo", key, part_of, title, belongings.count(connection, where))
    elif kind == "student":
        student = people.student(connection, key)
        part_of, title = student.group, student.name
    elif kind == "sitting":
        sitting = sittings.sitting(connection, key)
        part_of, title = sitting.group, sitting.title
    elif kind == "aircraft":
        settings.check_own_aircraft(connection, key)
        counts = {"aircraft": 1, **belongings.count(connection, belongings.about(kind, key))}
        return Deletable(kind, key, "", key, counts)
    elif kind == "entry":
        part_of, title = _entry(connection, key)
    else:
        raise InputError(
            "kind", f"'{kind[:20]}' cannot be deleted here", "use class, student, sitting, aircraft or entry"
        )
    return Deletable(kind, key, part_of, title, belongings.count(connection, belongings.about(kind, key)))


def _entry(connection: Connection, id: str) -> tuple[str, str]:
    """The aircraft of a log entry, and its title: the aircraft with the time of the reading."""
    found = select(tables.log_entries).where(tables.log_entries.c.id == id)
    row = required(
        connection.execute(found).mappings().first(),
        InputError("log", "there is no entry with this id", "choose one from the list"),
    )
    at = str(msgspec.json.decode(row["understood"]).get("time_utc", row["added_utc"]))
    return row["aircraft"], f"{row['aircraft']}, {at[:10]} {at[11:16]} UTC"


def delete(connection: Connection, kind: Kind, key: str) -> Binned:
    """Moves something with everything that belongs to it to the bin.

    Raises:
        InputError: as `deletable`.
    """
    thing, rows = _taken(connection, kind, key)
    return contents.put(connection, thing, rows)


def delete_for_good(connection: Connection, kind: Kind, key: str) -> Deletable:
    """Deletes something for good with everything that belongs to it, also in the bin.

    Raises:
        InputError: as `deletable`.
    """
    thing, _ = _taken(connection, kind, key)
    contents.delete_parts(connection, thing)
    return thing


def _taken(connection: Connection, kind: Kind, key: str) -> tuple[Deletable, Rows]:
    """Something with its rows, which are deleted from their tables."""
    contents.hold(connection)
    _hold(connection, "class" if kind == "demo" else kind, key)
    thing = deletable(connection, kind, key)
    if thing.kind == "demo":
        where, _ = demo_class.belonging(connection, key)
        rows = belongings.take_out(connection, where)
    elif thing.kind == "aircraft":
        place = {"place": settings.unlist_aircraft(connection, key)}
        rows = {"aircraft": [place], **belongings.take_out(connection, belongings.about(thing.kind, key))}
    else:
        rows = belongings.take_out(connection, belongings.about(thing.kind, key))
    if thing.kind == "student":
        rows = _with_rows_in_the_bin(connection, thing, rows)
    return msgspec.structs.replace(thing, counts=belongings.count_rows(rows)), rows


def _hold(connection: Connection, kind: Kind, key: str) -> None:
    """Locks it: sittings and places first, in the order in which an answer locks them."""
    if kind == "class":
        own = select(tables.sittings.c.id).where(tables.sittings.c.group_id == key)
        for id in sorted(connection.execute(own).scalars()):
            sittings.lock(connection, id)
        held = select(tables.students.c.id).where(tables.students.c.group_id == key).order_by("id")
        connection.execute(held.with_for_update())
    elif kind == "sitting":
        sittings.lock(connection, key)
    elif kind == "student":
        held = select(tables.places.c.sitting).where(tables.places.c.student == key)
        connection.execute(held.with_for_update())
    table = belongings.OWN_TABLE.get(kind)
    if table is not None:
        connection.execute(select(table.c.id).where(table.c.id == key).with_for_update())


def _with_rows_in_the_bin(connection: Connection, student: Deletable, rows: Rows) -> Rows:
    """A student's rows, with those of sittings in the bin; their answers are added to the counts."""
    binned = sittings_in_the_bin(connection, student.part_of)
    together = {name: list(listed) for name, listed in rows.items()}
    for _, theirs in binned.values():
        for name, listed in theirs.items():
            own = [row for row in listed if row.get("student") == student.key]
            if own:
                together.setdefault(name, []).extend(own)
                theirs[name] = [row for row in listed if row.get("student") != student.key]
    for sitting, key, chosen in sorted(done_in(together)):
        if sitting in binned:
            count_in_rows(binned[sitting][1], sitting, key, chosen, 1)
        else:
            count(connection, sitting, key, chosen, 1)
    for id, theirs in binned.values():
        contents.change_rows(connection, id, theirs)
    return together


def sittings_in_the_bin(connection: Connection, group: str) -> dict[str, tuple[str, Rows]]:
    """The id in the bin and the rows of each sitting of a class there, by sitting's id."""
    parts = contents.parts_of(connection, "class", group)
    return {
        part.key: (part.id, contents.rows_of(connection, part.id)) for part in parts if part.kind == "sitting"
    }


def done_in(rows: Rows) -> Iterator[tuple[str, str, int]]:
    """What is counted in a student's rows: sitting, question or '' for a place, option."""
    for place in rows.get("places", ()):
        yield place["sitting"], "", NOT_CHOSEN
    for answer in rows.get("answers", ()):
        if not belongings.is_blank(answer):
            yield answer["sitting"], answer["key"], answer["chosen"]


def count(connection: Connection, sitting: str, key: str, chosen: int, by: int) -> None:
    """Adds one deleted student to a count, or subtracts one."""
    c = tables.forgotten.c
    here = (c.sitting == sitting, c.key == key, c.chosen == chosen)
    changed = connection.execute(tables.forgotten.update().where(*here).values(count=c.count + by))
    if not changed.rowcount and by > 0:
        plain = {"sitting": sitting, "key": key, "chosen": chosen, "count": by}
        connection.execute(tables.forgotten.insert().values(plain))
    connection.execute(tables.forgotten.delete().where(*here, c.count <= 0))


def count_in_rows(rows: Rows, sitting: str, key: str, chosen: int, by: int) -> None:
    """The same in a sitting that is in the bin."""
    listed: list[dict[str, Any]] = rows.setdefault("forgotten", [])
    for row in listed:
        if (row["key"], row["chosen"]) == (key, chosen):
            row["count"] += by
            break
    else:
        listed.append({"sitting": sitting, "key": key, "chosen": chosen, "count": by})
    rows["forgotten"] = [row for row in listed if row["count"] > 0]


def forgotten(connection: Connection, sitting: str) -> tuple[Forgotten, ...]:
    """The counts of deleted students in a sitting."""
    c = tables.forgotten.c
    rows = connection.execute(select(tables.forgotten).where(c.sitting == sitting).order_by(c.key, c.chosen))
    return tuple(Forgotten(**row) for row in rows.mappings())


class Brought(msgspec.Struct, frozen=True):
    """A thing brought back.

    Attributes:
        thing: as it was in the bin.
        remarks: what has changed, as sentences.
    """

    thing: Binned
    remarks: tuple[str, ...]


def bring_back(connection: Connection, id: str) -> Brought:
    """Brings something back from the bin.

    Raises:
        InputError: it is not in the bin, is already in the records, or was a part of something that is gone.
    """
    thing = contents.entry(connection, id, held=True)
    rows = contents.rows_of(connection, id)
    _check_place(connection, thing)
    _check_absent(connection, rows)
    remarks: list[str] = []
    left: Rows = {}
    if thing.kind == "student":
        rows = _student(connection, thing, rows, remarks)
    elif thing.kind == "aircraft":
        rows, left = _aircraft(connection, thing, rows, remarks)
    elif thing.kind == "demo" and demo_class.find(connection) is not None:
        raise InputError(
            "demo class",
            "there is another one already",
            "delete that one first, or leave this one in the bin",
        )
    _free_codes(connection, rows, remarks)
    _free_secrets(connection, rows)
    belongings.put_in(connection, _of_who_is_there(connection, rows))
    if left:
        contents.change_rows(connection, id, left)
    else:
        contents.remove(connection, id)
    return Brought(thing, tuple(remarks))


def _check_place(connection: Connection, thing: Binned) -> None:
    """Checks that the thing it is a part of exists."""
    if not thing.part_of:
        return
    if thing.kind == "entry":
        gone = [
            one for one in contents.entries(connection) if (one.kind, one.key) == ("aircraft", thing.part_of)
        ]
        if gone:
            raise InputError("bin", f"{thing.part_of} is in the bin too", "bring the aircraft back first")
        return
    if belongings.live(connection, tables.groups, {thing.part_of}):
        return
    classes = (one for one in contents.entries(connection) if one.kind in ("class", "demo"))
    title = next((one.title for one in classes if one.key == thing.part_of), "")
    if title:
        raise InputError("bin", f"its class, {title}, is in the bin too", "bring the class back first")
    raise InputError("bin", "its class was deleted for good", "it cannot be brought back")


def _check_absent(connection: Connection, rows: Rows) -> None:
    """Checks that it is not in the records, as after restoring a backup from before the deletion."""
    for table in belongings.OWN_TABLE.values():
        ids = {row["id"] for row in rows.get(table.name, ())}
        if belongings.live(connection, table, ids):
            raise InputError("bin", "it is already in the records", "delete this one for good")


def _student(connection: Connection, thing: Binned, rows: Rows, remarks: list[str]) -> Rows:
    """A student's rows, without those of sittings in the bin, which stay with their sitting."""
    binned = sittings_in_the_bin(connection, thing.part_of)
    for sitting, key, chosen in done_in(rows):
        if sitting in binned:
            count_in_rows(binned[sitting][1], sitting, key, chosen, -1)
        else:
            count(connection, sitting, key, chosen, -1)
    here: Rows = {}
    for name, listed in rows.items():
        for row in listed:
            where = binned[row["sitting"]][1] if row.get("sitting") in binned else here
            where.setdefault(name, []).append(row)
    for id, theirs in binned.values():
        contents.change_rows(connection, id, theirs)
    c = tables.students.c
    for row in here["students"]:
        taken = select(c.id).where(c.group_id == row["group_id"], c.number == row["number"])
        if row["number"] and connection.execute(taken).first():
            remarks.append(f"The number {row['number']} is now in use, so {row['name']} has none.")
            row["number"] = ""
    return here


def _aircraft(connection: Connection, thing: Binned, rows: Rows, remarks: list[str]) -> tuple[Rows, Rows]:
    """An aircraft's rows, and those that stay in the bin if one with its name was added meanwhile."""
    settings.relist_aircraft(connection, thing.key, rows["aircraft"][0]["place"])
    there = {row["name"]: settings.get(connection, row["name"]) for row in rows.get("settings", ())}
    free = [row for row in rows.get("settings", ()) if not there[row["name"]]]
    left = [row for row in rows.get("settings", ()) if there[row["name"]] not in ("", row["value"])]
    if left:
        remarks.append(
            f"{thing.title} was added again meanwhile and is unchanged. Its log is complete again; "
            "the earlier file, swing or code is still in the bin."
        )
    return {**rows, "settings": free}, {"aircraft": rows["aircraft"], "settings": left} if left else {}


def _free_codes(connection: Connection, rows: Rows, remarks: list[str]) -> None:
    """Replaces a code now used by another open sitting."""
    for row in rows.get("sittings", ()):
        if row["code"] and not row["closed_utc"] and sittings.by_code(connection, row["code"]):
            row["code"] = sittings.new_code(connection)
            remarks.append(f"{row['title']} has a new code: {row['code']}.")


def _free_secrets(connection: Connection, rows: Rows) -> None:
    """A browser that now has another place in the same sitting keeps that one."""
    c = tables.places.c
    for row in rows.get("places", ()):
        if row["secret_hash"]:
            held = and_(c.sitting == row["sitting"], c.secret_hash == row["secret_hash"])
            if connection.execute(select(c.student).where(held)).first():
                row["secret_hash"] = ""


def _of_who_is_there(connection: Connection, rows: Rows) -> Rows:
    """Removes rows of students or sittings deleted for good meanwhile."""
    there = {}
    for column, table in (("student", tables.students), ("sitting", tables.sittings)):
        named = {row[column] for listed in rows.values() for row in listed if row.get(column)}
        coming = {row["id"] for row in rows.get(table.name, ())}
        there[column] = coming | belongings.live(connection, table, named) | {""}
    return {
        name: [
            row
            for row in listed
            if row.get("student", "") in there["student"] and row.get("sitting", "") in there["sitting"]
        ]
        for name, listed in rows.items()
    }


class Files(Protocol):
    """Writes deleted files back."""

    def bring_back(self, kind: Kind, name: str, saved: str | None, draft: str | None) -> tuple[str, ...]:
        """Writes a file of a kind and its draft; returns what has changed."""


class Bin(Service):
    """Deletes things, lists the bin, and brings things back."""

    deletable = reads(deletable, whole=True)
    delete = writes(delete, LOOK_AGAIN)
    forgotten = reads(forgotten)
    entries = reads(contents.entries)
    entry = reads(contents.entry)

    def delete_for_good(self, kind: Kind, key: str) -> Deletable:
        """Deletes something for good with everything that belongs to it, without a trace in any file."""
        gone = self.transactions.write(
            lambda connection: delete_for_good(connection, kind, key), lambda _: (LOOK_AGAIN,)
        )
        self._wipe()
        return gone

    def put_file(self, kind: Kind, name: str, title: str, saved: str | None, draft: str | None) -> Binned:
        """Puts a file's text into the bin; the caller then deletes the file."""
        thing = Deletable(kind, name, "", title, {kind: 1})
        rows: Rows = {kind: [{"name": name, "saved": saved, "draft": draft}]}
        return self.transactions.write(lambda connection: contents.put(connection, thing, rows))

    def bring_back(self, id: str, files: Files | None = None) -> Brought:
        """Moves something out of the bin, back to where it was; see `bring_back`.

        Args:
            id: in the bin.
            files: writes those of a school.
        """

        def act(connection: Connection) -> Brought:
            thing = contents.entry(connection, id, held=True)
            if thing.kind not in FILES:
                return bring_back(connection, id)
            if files is None:
                raise InputError("bin", "it is a file", "bring it back on the Bin page")
            (row,) = contents.rows_of(connection, id)[thing.kind]
            contents.remove(connection, id)
            return Brought(thing, files.bring_back(thing.kind, **row))

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
