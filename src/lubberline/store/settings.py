"""The school's settings by name; what is secret among them is kept as a digest by whoever sets it."""

from __future__ import annotations

from sqlalchemy import Connection, select

from lubberline.store import known_settings as known
from lubberline.store import setting_names as names
from lubberline.store import tables

# Who gets in is a matter of the place, not of the records: a backup does not hold these, and bringing one
# back does not open a school that had a passphrase.
OF_THIS_PLACE = (names.PASSPHRASE, names.SESSION_KEY)
# Which records these are, wherever they are brought: devices send to those alone that they had it from.
RECORDS_ID = names.RECORDS_ID


def everything(connection: Connection) -> dict[str, str]:
    """All settings by name."""
    rows = connection.execute(select(tables.settings).order_by(tables.settings.c.name))
    return {row.name: row.value for row in rows}


def setting(connection: Connection, name: str) -> str:
    """The value with this name; '' where nothing was set."""
    found = select(tables.settings.c.value).where(tables.settings.c.name == name)
    value = connection.execute(found).scalar_one_or_none()
    return value or ""


def set_setting(connection: Connection, name: str, value: str) -> None:
    """Sets a value; '' takes it away.

    Raises:
        InputError: a setting that the program does not have, or a value that cannot be one.
    """
    if value:
        known.check_setting(name, value)
    connection.execute(tables.settings.delete().where(tables.settings.c.name == name))
    if value:
        connection.execute(tables.settings.insert().values(name=name, value=value))


def settle(connection: Connection, name: str, value: str) -> str:
    """Sets a value where there is none yet; gives the one that counts, whoever came first."""
    kept = setting(connection, name)
    if kept:
        return kept
    known.check_setting(name, value)
    # Nothing is deleted here: of two that come at once, the second is refused, tries again and finds it.
    connection.execute(tables.settings.insert().values(name=name, value=value))
    return value


def touch(connection: Connection) -> None:
    """Reads next to nothing: only to see whether the records answer."""
    connection.execute(select(tables.settings.c.name).limit(1)).first()


def leave_no_trace(connection: Connection) -> None:
    """Writes a row and takes it out again: the pages are written all the same."""
    connection.execute(tables.settings.insert().values(name="written", value="now"))
    connection.execute(tables.settings.delete().where(tables.settings.c.name == "written"))
