"""The school's settings: names, checks and values.

Secrets are stored as digests. The checks made when a setting is written are
repeated when a backup is restored: a setting that the program could not have written is refused by
name before anything is replaced.
"""

import contextlib
import json
import re
from collections.abc import Callable, Mapping

from sqlalchemy import Connection, select

from lubberline.classroom.exam import Exam, check_exam
from lubberline.errors import InputError, required
from lubberline.flight.home import Home, home_from_text, home_text
from lubberline.questions.bank import check_jurisdiction
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.store.database import Service, reads, tables, writes
from lubberline.store.texts import LONGEST_TEXT, decoded, kept_text
from lubberline.upkeep.swing import LIMIT_DEG, pairs_from_text, swing_of

SCHOOL_NAME, SIGNED_BY, EXAM, HOME = "school_name", "signed_by", "exam", "home"
PASSPHRASE, SESSION_KEY = "passphrase", "session-key"
# The id of these records, kept when they are moved: devices send only to the records they started with.
RECORDS_ID = "records-id"
# The demo class, and its own students and sittings.
DEMO_CLASS, DEMO_OWN = "made-up class", "made-up class, own"
# The school's aircraft, and the file, swing and code of each, by its key.
AIRCRAFT = "aircraft"
MOST_AIRCRAFT = 200
LONGEST_SCHOOL_NAME = 80
AIRCRAFT_FILE, AIRCRAFT_SWING, AIRCRAFT_CODE = "aircraft_file:", "aircraft_swing:", "aircraft_code:"
# Access belongs to the installation, not to the records: a backup does not include these, and restoring one
# does not remove a passphrase.
OF_THIS_PLACE = (PASSPHRASE, SESSION_KEY)
_KEY = r"[a-z0-9][a-z0-9-]{0,39}"

Check = Callable[[str, str], None]


def everything(connection: Connection) -> dict[str, str]:
    """All settings by name."""
    rows = connection.execute(select(tables.settings).order_by(tables.settings.c.name))
    return {row.name: row.value for row in rows}


def get(connection: Connection, name: str) -> str:
    """The value with this name; '' if not set."""
    found = select(tables.settings.c.value).where(tables.settings.c.name == name)
    return connection.execute(found).scalar_one_or_none() or ""


def put(connection: Connection, name: str, value: str) -> None:
    """Sets a value; '' removes it.

    Raises:
        InputError: an unknown setting, or an invalid value.
    """
    if value:
        check_setting(name, value)
    connection.execute(tables.settings.delete().where(tables.settings.c.name == name))
    if value:
        connection.execute(tables.settings.insert().values(name=name, value=value))


def settle(connection: Connection, name: str, value: str) -> str:
    """Sets a value if there is none yet; returns the first one set."""
    kept = get(connection, name)
    if kept:
        return kept
    check_setting(name, value)
    # No deletion here: of two at once, the second is refused, repeated, and finds the value.
    connection.execute(tables.settings.insert().values(name=name, value=value))
    return value


def touch(connection: Connection) -> None:
    """A minimal read, to check that the records answer."""
    connection.execute(select(tables.settings.c.name).limit(1)).first()


def leave_no_trace(connection: Connection) -> None:
    """Writes and removes a row, which still writes to the disk."""
    connection.execute(tables.settings.insert().values(name="written", value="now"))
    connection.execute(tables.settings.delete().where(tables.settings.c.name == "written"))


def aircraft_key(name: str) -> str:
    """A short name of an aircraft for addresses and settings; '' without letters or digits."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]


def of_aircraft(name: str) -> tuple[str, ...]:
    """The names of an aircraft's settings."""
    key = aircraft_key(name)
    return (AIRCRAFT_FILE + key, AIRCRAFT_SWING + key, AIRCRAFT_CODE + key)


def key_of(name: str) -> str:
    """The key of an aircraft, for addresses and settings.

    Raises:
        InputError: the name has no letters or digits.
    """
    key = aircraft_key(name)
    if not key:
        raise InputError("name", f"'{name[:40]}' has no letters or digits", "give the aircraft a name")
    return key


def aircraft_keys(value: str) -> list[str]:
    """The keys of the school's aircraft, from the setting that lists them.

    Raises:
        InputError: it is not a list of keys.
    """
    keys = decoded(value, list[str]) if value else []
    if keys is None or len(keys) > MOST_AIRCRAFT or len(set(keys)) < len(keys) or not all(map(_is_key, keys)):
        raise _wrong(AIRCRAFT, f"a list of at most {MOST_AIRCRAFT} keys of aircraft, none twice")
    return keys


def _is_key(text: str) -> bool:
    return re.fullmatch(_KEY, text) is not None


def _wrong(name: str, right: str) -> InputError:
    return InputError(f"setting '{name}'", "not a value written by the program", right)


def _name(name: str, value: str) -> None:
    if value != " ".join(value.split()) or len(value) > LONGEST_SCHOOL_NAME:
        raise _wrong(name, f"a name on one line of at most {LONGEST_SCHOOL_NAME} characters")


def _formed(pattern: str, right: str) -> Check:
    def check(name: str, value: str) -> None:
        if not re.fullmatch(pattern, value):
            raise _wrong(name, right)

    return check


def _own(name: str, value: str) -> None:
    if set(decoded(value, dict[str, list[str]]) or ()) != {"students", "sittings"}:
        raise _wrong(name, "the ids of the demo class's own students and sittings")


def _keys(name: str, value: str) -> None:
    aircraft_keys(value)


def _exam(name: str, value: str) -> None:
    exam = required(decoded(value, Exam), _wrong(name, "an exam as set on the page Readiness"))
    check_exam(exam, f"setting '{name}'")


def _home(name: str, value: str) -> None:
    found = home_from_text(f"setting '{name}'", value)
    check_jurisdiction(f"setting '{name}', regulations", found.regulations)


def _file(name: str, value: str) -> None:
    aircraft = aircraft_from_text(f"setting '{name}'", value)
    if aircraft_key(aircraft.name) != name.removeprefix(AIRCRAFT_FILE):
        raise _wrong(name, f"the file of an aircraft whose name makes the key, not '{aircraft.name[:40]}'")


def _swing(name: str, value: str) -> None:
    kept, right = decoded(value, dict[str, str]) or {}, "a swing's pairs, day and limit, as texts"
    if set(kept) != {"pairs", "day", "limit"} or not kept["pairs"]:
        raise _wrong(name, right)
    try:
        limit_deg = float(kept["limit"] or LIMIT_DEG)
    except ValueError:
        raise _wrong(name, right) from None
    for swung in pairs_from_text(f"setting '{name}'", kept["pairs"]).values():
        swing_of(swung, limit_deg)


_EXACT: Mapping[str, Check] = {
    SCHOOL_NAME: _name,
    SIGNED_BY: lambda name, value: None,
    EXAM: _exam,
    HOME: _home,
    DEMO_CLASS: _formed(r"[A-Za-z0-9_-]{1,64}", "the id of a class"),
    DEMO_OWN: _own,
    PASSPHRASE: _formed(r"scrypt\$[A-Za-z0-9+/=]{16,40}\$[A-Za-z0-9+/=]{40,120}", "a digest"),
    SESSION_KEY: _formed(r"[A-Za-z0-9_-]{20,100}", "a random key"),
    RECORDS_ID: _formed(r"[A-Za-z0-9_-]{8,64}", "the id of the records"),
    AIRCRAFT: _keys,
}
_OF_AIRCRAFT: Mapping[str, Check] = {
    AIRCRAFT_FILE: _file,
    AIRCRAFT_SWING: _swing,
    AIRCRAFT_CODE: _formed(r"[A-HJKMNP-Z2-9]{8}", "eight letters and digits"),
}


def check_setting(name: str, value: str) -> None:
    """Checks that the program could have written a setting.

    Raises:
        InputError: an unknown name, or an impossible value; names the setting.
    """
    kept_text(f"setting '{name[:60]}'", value, LONGEST_TEXT)
    check = _EXACT.get(name)
    if check is None:
        head, colon, key = name.partition(":")
        check = _OF_AIRCRAFT.get(head + colon) if _is_key(key) else None
    if check is None:
        raise InputError(f"setting '{name[:60]}'", "the program has no such setting", "leave it out")
    check(name, value)


def check_settings(found: Mapping[str, str]) -> None:
    """Checks that the program could have written these settings, one by one and together.

    Raises:
        InputError: as `check_setting`, or a listed aircraft without a file.
    """
    for name, value in found.items():
        check_setting(name, value)
    for key in aircraft_keys(found.get(AIRCRAFT, "")):
        if AIRCRAFT_FILE + key not in found:
            raise _wrong(AIRCRAFT, f"a file for each aircraft, and '{key}' has none")


def home(connection: Connection) -> Home | None:
    """The school's home; None if none is set, or it cannot be read."""
    text = get(connection, HOME)
    with contextlib.suppress(InputError):
        return home_from_text("home", text) if text else None
    return None


def put_home(connection: Connection, given: Home) -> None:
    """Sets the school's home.

    Raises:
        InputError: it is not valid.
    """
    put(connection, HOME, home_text(given))


def own_aircraft(connection: Connection) -> list[str]:
    """The keys of the school's own aircraft."""
    return aircraft_keys(get(connection, AIRCRAFT))


def check_own_aircraft(connection: Connection, name: str) -> None:
    """Checks that an aircraft is the school's own.

    Raises:
        InputError: it is not.
    """
    if not get(connection, AIRCRAFT_FILE + aircraft_key(name)):
        raise InputError("aircraft", f"'{name[:60]}' is not your own", "choose one that you added")


def unlist_aircraft(connection: Connection, name: str) -> int:
    """Removes an aircraft from the list; returns its place."""
    keys = own_aircraft(connection)
    place = keys.index(aircraft_key(name)) if aircraft_key(name) in keys else len(keys)
    _keep_list(connection, [key for key in keys if key != aircraft_key(name)])
    return place


def relist_aircraft(connection: Connection, name: str, place: int) -> None:
    """Adds an aircraft to the list, if missing."""
    keys = own_aircraft(connection)
    if aircraft_key(name) not in keys:
        _keep_list(connection, [*keys[:place], aircraft_key(name), *keys[place:]])


def _keep_list(connection: Connection, keys: list[str]) -> None:
    put(connection, AIRCRAFT, json.dumps(keys) if keys else "")


def broken(connection: Connection) -> tuple[InputError, ...]:
    """The errors of settings that the program could not have written."""
    wrong = []
    for name, value in everything(connection).items():
        try:
            check_setting(name, value)
        except InputError as error:
            wrong.append(error)
    return tuple(wrong)


class Settings(Service):
    """The school's settings by name."""

    get = reads(get)
    put = writes(put, "settings")
    settle = writes(settle, "settings")
    broken = reads(broken)
    home = reads(home)
    put_home = writes(put_home, "settings")
