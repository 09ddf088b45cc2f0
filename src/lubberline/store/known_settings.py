"""Every setting that the program writes, by name, with what a value of it may be.

What is checked when it is written is checked again when a backup brings it: a setting that no act of the
program could have made is refused by its name before anything is replaced.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import msgspec

from lubberline.classroom.exam import Exam, check_exam
from lubberline.errors import InputError
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.store import setting_names as names
from lubberline.store.setting_names import (
    AIRCRAFT,
    AIRCRAFT_CODE,
    AIRCRAFT_FILE,
    AIRCRAFT_SWING,
    aircraft_key,
)
from lubberline.store.texts import LONGEST_TEXT, kept_text
from lubberline.upkeep.swing import LIMIT_DEG, pairs_from_text, swing_of

_KEY = r"[a-z0-9][a-z0-9-]{0,39}"

Check = Callable[[str, str], None]


def key_of(name: str) -> str:
    """The key of an aircraft, for addresses and settings.

    Raises:
        InputError: nothing of the name is left.
    """
    key = aircraft_key(name)
    if not key:
        raise InputError("name", f"'{name[:40]}' has no letters or digits", "name the aircraft")
    return key


def aircraft_keys(value: str) -> list[str]:
    """The keys of the school's aircraft, from the setting that lists them.

    Raises:
        InputError: it is no list of keys.
    """
    try:
        keys = msgspec.json.decode(value.encode(), type=list[str]) if value else []
    except (ValueError, RecursionError):
        keys = [""]
    if len(keys) > names.MOST_AIRCRAFT or len(set(keys)) < len(keys) or not all(map(_is_key, keys)):
        raise _wrong(AIRCRAFT, f"a list of at most {names.MOST_AIRCRAFT} keys of aircraft, none twice")
    return keys


def _is_key(text: str) -> bool:
    return re.fullmatch(_KEY, text) is not None


def _wrong(name: str, right: str) -> InputError:
    return InputError(f"setting '{name}'", "not a value that the program writes", right)


def _name(name: str, value: str) -> None:
    if value != " ".join(value.split()) or len(value) > names.LONGEST_SCHOOL_NAME:
        raise _wrong(name, f"a name on one line of at most {names.LONGEST_SCHOOL_NAME} characters")


def _formed(pattern: str, right: str) -> Check:
    def check(name: str, value: str) -> None:
        if not re.fullmatch(pattern, value):
            raise _wrong(name, right)

    return check


def _own(name: str, value: str) -> None:
    try:
        own = msgspec.json.decode(value.encode(), type=dict[str, list[str]])
    except (ValueError, RecursionError):
        own = {}
    if set(own) != {"students", "sittings"}:
        raise _wrong(name, "the ids of the demo class's own students and sittings")


def _keys(name: str, value: str) -> None:
    aircraft_keys(value)


def _exam(name: str, value: str) -> None:
    try:
        check_exam(msgspec.json.decode(value.encode(), type=Exam), f"setting '{name}'")
    except (msgspec.MsgspecError, RecursionError):
        raise _wrong(name, "an exam as the page Readiness sets it") from None


def _file(name: str, value: str) -> None:
    aircraft = aircraft_from_text(f"setting '{name}'", value)
    if aircraft_key(aircraft.name) != name.removeprefix(AIRCRAFT_FILE):
        raise _wrong(name, f"the file of an aircraft whose name makes the key, not '{aircraft.name[:40]}'")


def _swing(name: str, value: str) -> None:
    try:
        kept = msgspec.json.decode(value.encode(), type=dict[str, str])
        limit_deg = float(kept["limit"] or LIMIT_DEG)
        pairs = kept["pairs"]
        if set(kept) != {"pairs", "day", "limit"} or not pairs:
            raise ValueError
    except (ValueError, KeyError, RecursionError):
        raise _wrong(name, "a swing's pairs, day and limit, as texts") from None
    for swung in pairs_from_text(f"setting '{name}'", pairs).values():
        swing_of(swung, limit_deg)


_EXACT: Mapping[str, Check] = {
    names.SCHOOL_NAME: _name,
    names.SIGNED_BY: lambda name, value: None,
    names.EXAM: _exam,
    names.DEMO_CLASS: _formed(r"[A-Za-z0-9_-]{1,64}", "the id of a class"),
    names.DEMO_OWN: _own,
    names.PASSPHRASE: _formed(r"scrypt\$[A-Za-z0-9+/=]{16,40}\$[A-Za-z0-9+/=]{40,120}", "a digest"),
    names.SESSION_KEY: _formed(r"[A-Za-z0-9_-]{20,100}", "a random key"),
    names.RECORDS_ID: _formed(r"[A-Za-z0-9_-]{8,64}", "the id of the records"),
    AIRCRAFT: _keys,
}
_OF_AIRCRAFT: Mapping[str, Check] = {
    AIRCRAFT_FILE: _file,
    AIRCRAFT_SWING: _swing,
    AIRCRAFT_CODE: _formed(r"[A-HJKMNP-Z2-9]{8}", "eight letters and digits"),
}


def check_setting(name: str, value: str) -> None:
    """Whether the program may have written a setting.

    Raises:
        InputError: naming it, for a name that it does not know or a value that it could not have written.
    """
    kept_text(f"setting '{name[:60]}'", value, LONGEST_TEXT)
    check = _EXACT.get(name)
    if check is None:
        head, colon, key = name.partition(":")
        check = _OF_AIRCRAFT.get(head + colon) if _is_key(key) else None
    if check is None:
        raise InputError(f"setting '{name[:60]}'", "the program has no such setting", "leave it out")
    check(name, value)


def broken_settings(found: Mapping[str, str]) -> tuple[InputError, ...]:
    """What is wrong with each setting that the program cannot have written."""
    wrong = []
    for name, value in found.items():
        try:
            check_setting(name, value)
        except InputError as error:
            wrong.append(error)
    return tuple(wrong)


def check_settings(found: Mapping[str, str]) -> None:
    """Whether settings are such that the program may have written them, each and together.

    Raises:
        InputError: as `check_setting`, or an aircraft that is listed and has no file.
    """
    for name, value in found.items():
        check_setting(name, value)
    for key in aircraft_keys(found.get(AIRCRAFT, "")):
        if AIRCRAFT_FILE + key not in found:
            raise _wrong(AIRCRAFT, f"a file for each aircraft, and '{key}' has none")
