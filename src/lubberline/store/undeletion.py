"""Bringing back what is in the bin: as it was, or with a word of what has another's place now."""

from __future__ import annotations

import msgspec
from sqlalchemy import Connection, and_, select

from lubberline.errors import InputError
from lubberline.store import (
    aircraft_settings,
    belongings,
    deletion,
    made_up,
    settings,
    sittings,
    tables,
    wastebin,
)
from lubberline.store.belongings import Rows
from lubberline.store.wastebin import Binned


class Brought(msgspec.Struct, frozen=True):
    """What was brought back.

    Attributes:
        thing: as it was in the bin.
        remarks: what is not as it was, as sentences.
    """

    thing: Binned
    remarks: tuple[str, ...]


def bring_back(connection: Connection, id: str) -> Brought:
    """Moves something out of the bin, back to where it was.

    Raises:
        InputError: it is not in the bin, is in the records already, or was a part of something that is gone.
    """
    thing = wastebin.entry(connection, id, held=True)
    rows = wastebin.rows_of(connection, id)
    _check_place(connection, thing)
    _check_absent(connection, rows)
    remarks: list[str] = []
    left: Rows = {}
    if thing.kind == "student":
        rows = _student(connection, thing, rows, remarks)
    elif thing.kind == "aircraft":
        rows, left = _aircraft(connection, thing, rows, remarks)
    elif thing.kind == "demo" and made_up.there(connection) is not None:
        raise InputError("demo class", "another one is here", "take that out first, or leave this in the bin")
    _free_codes(connection, rows, remarks)
    _free_secrets(connection, rows)
    belongings.put_in(connection, _of_who_is_there(connection, rows))
    if left:
        wastebin.change_rows(connection, id, left)
    else:
        wastebin.remove(connection, id)
    return Brought(thing, tuple(remarks))


def _check_place(connection: Connection, thing: Binned) -> None:
    """What it was a part of must be there."""
    if not thing.part_of:
        return
    if thing.kind == "entry":
        gone = [
            one for one in wastebin.entries(connection) if (one.kind, one.key) == ("aircraft", thing.part_of)
        ]
        if gone:
            raise InputError("bin", f"{thing.part_of} is in the bin, too", "bring the aircraft back first")
        return
    if belongings.live(connection, tables.groups, {thing.part_of}):
        return
    classes = (one for one in wastebin.entries(connection) if one.kind in ("class", "demo"))
    title = next((one.title for one in classes if one.key == thing.part_of), "")
    if title:
        raise InputError("bin", f"its class, {title}, is in the bin, too", "bring the class back first")
    raise InputError("bin", "its class is gone", "it cannot come back; make the class anew")


def _check_absent(connection: Connection, rows: Rows) -> None:
    """Nothing of it may be in the records, as after a backup from before it was deleted."""
    for table in belongings.OWN_TABLE.values():
        ids = {row["id"] for row in rows.get(table.name, ())}
        if belongings.live(connection, table, ids):
            raise InputError("bin", "it is in the records already", "delete this one for good")


def _student(connection: Connection, thing: Binned, rows: Rows, remarks: list[str]) -> Rows:
    """A student's rows, without those of sittings in the bin, which wait there with their sitting."""
    binned = deletion.sittings_in_the_bin(connection, thing.part_of)
    for sitting, key, chosen in deletion.done_in(rows):
        if sitting in binned:
            deletion.count_in_rows(binned[sitting][1], sitting, key, chosen, -1)
        else:
            deletion.count(connection, sitting, key, chosen, -1)
    here: Rows = {}
    for name, listed in rows.items():
        for row in listed:
            where = binned[row["sitting"]][1] if row.get("sitting") in binned else here
            where.setdefault(name, []).append(row)
    for id, theirs in binned.values():
        wastebin.change_rows(connection, id, theirs)
    c = tables.students.c
    for row in here["students"]:
        taken = select(c.id).where(c.group_id == row["group_id"], c.number == row["number"])
        if row["number"] and connection.execute(taken).first():
            remarks.append(f"Somebody else has the number {row['number']} now: {row['name']} has none.")
            row["number"] = ""
    return here


def _aircraft(connection: Connection, thing: Binned, rows: Rows, remarks: list[str]) -> tuple[Rows, Rows]:
    """An aircraft's rows, and those that stay in the bin: one of its name was added meanwhile."""
    aircraft_settings.relist(connection, thing.key, rows["aircraft"][0]["place"])
    there = {row["name"]: settings.setting(connection, row["name"]) for row in rows.get("settings", ())}
    free = [row for row in rows.get("settings", ()) if not there[row["name"]]]
    left = [row for row in rows.get("settings", ()) if there[row["name"]] not in ("", row["value"])]
    if left:
        remarks.append(
            f"{thing.title} was added again meanwhile, and stays as it is: its log is whole again, "
            "the earlier file, swing or code is still in the bin."
        )
    return {**rows, "settings": free}, {"aircraft": rows["aircraft"], "settings": left} if left else {}


def _free_codes(connection: Connection, rows: Rows, remarks: list[str]) -> None:
    """A code that another open sitting has meanwhile is replaced."""
    for row in rows.get("sittings", ()):
        if row["code"] and not row["closed_utc"] and sittings.by_code(connection, row["code"]):
            row["code"] = sittings.new_code(connection)
            remarks.append(f"{row['title']} has a new code to join by: {row['code']}.")


def _free_secrets(connection: Connection, rows: Rows) -> None:
    """A browser that took another place in the same sitting meanwhile keeps that one."""
    c = tables.places.c
    for row in rows.get("places", ()):
        if row["secret_hash"]:
            held = and_(c.sitting == row["sitting"], c.secret_hash == row["secret_hash"])
            if connection.execute(select(c.student).where(held)).first():
                row["secret_hash"] = ""


def _of_who_is_there(connection: Connection, rows: Rows) -> Rows:
    """Without rows of students or sittings that were deleted for good meanwhile."""
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
