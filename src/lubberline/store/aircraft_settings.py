"""The school's own aircraft as settings: their list, deleted from and brought back to."""

from __future__ import annotations

import json

from sqlalchemy import Connection

from lubberline.errors import InputError
from lubberline.store import settings
from lubberline.store.known_settings import aircraft_keys
from lubberline.store.setting_names import AIRCRAFT, AIRCRAFT_FILE, aircraft_key


def listed(connection: Connection) -> list[str]:
    """The keys of the school's own aircraft."""
    return aircraft_keys(settings.setting(connection, AIRCRAFT))


def check(connection: Connection, name: str) -> None:
    """Whether an aircraft is the school's own.

    Raises:
        InputError: it is not.
    """
    if not settings.setting(connection, AIRCRAFT_FILE + aircraft_key(name)):
        raise InputError("aircraft", f"'{name[:60]}' is not one of your own", "choose one that you added")


def unlist(connection: Connection, name: str) -> int:
    """Takes an aircraft off the list; gives the place that it had."""
    keys = listed(connection)
    place = keys.index(aircraft_key(name)) if aircraft_key(name) in keys else len(keys)
    _keep(connection, [key for key in keys if key != aircraft_key(name)])
    return place


def relist(connection: Connection, name: str, place: int) -> None:
    """Puts an aircraft on the list, where it is not on it."""
    keys = listed(connection)
    if aircraft_key(name) not in keys:
        _keep(connection, [*keys[:place], aircraft_key(name), *keys[place:]])


def _keep(connection: Connection, keys: list[str]) -> None:
    settings.set_setting(connection, AIRCRAFT, json.dumps(keys) if keys else "")
