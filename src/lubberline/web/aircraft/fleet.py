"""The aircraft that the pages know: the invented fleet of the demo, and the school's own by their files."""

from __future__ import annotations

import hmac
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Protocol

from lubberline.errors import InputError, nearest_of
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.store.setting_names import AIRCRAFT as LIST
from lubberline.store.setting_names import AIRCRAFT_CODE as CODE
from lubberline.store.setting_names import AIRCRAFT_FILE as FILE
from lubberline.store.setting_names import aircraft_key
from lubberline.web.demo import demo_folder
from lubberline.web.refusals import Refused

MOST_AIRCRAFT = 200


class Settings(Protocol):
    """What the pages need of the school's records for an aircraft's files."""

    def setting(self, name: str) -> str:
        """A value by name; '' where nothing was set."""

    def set_setting(self, name: str, value: str) -> None:
        """Keeps a value."""


@dataclass(frozen=True)
class Craft:
    """An aircraft of the list.

    Attributes:
        key: its short name in addresses.
        name: as its file says, and as its log is kept under.
        about: what its file's first comment says; '' for none.
        aircraft: its instruments.
        file_text: its file.
        demo_log: entries that came with the program, as CSV; '' for none.
        invented: whether it belongs to the demo.
    """

    key: str
    name: str
    about: str
    aircraft: Aircraft
    file_text: str
    demo_log: str = ""
    invented: bool = False


def key_of(name: str) -> str:
    """A short name for addresses: small letters, digits and hyphens.

    Raises:
        InputError: nothing of the name is left.
    """
    key = aircraft_key(name)
    if not key:
        raise InputError("name", f"'{name[:40]}' has no letters or digits", "name the aircraft")
    return key


def _about(text: str) -> str:
    first = text.partition("\n")[0]
    words = first.lstrip("# ").removesuffix("Invented; see demo/README.md.").strip()
    return words if first.startswith("#") else ""


@cache
def demo_fleet() -> tuple[Craft, ...]:
    """The invented aircraft with their logs, in order of their names."""
    found = []
    for path in sorted((demo_folder() / "aircraft").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        aircraft = aircraft_from_text(path.name, text)
        log = _log_of(path.stem)
        found.append(
            Craft(key_of(aircraft.name), aircraft.name, _about(text), aircraft, text, log, invented=True)
        )
    return tuple(found)


def _log_of(stem: str) -> str:
    path: Path = demo_folder() / "logs" / f"{stem}.csv"
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def _own_keys(school: Settings) -> list[str]:
    listed = school.setting(LIST)
    return [str(key) for key in json.loads(listed)] if listed else []


def fleet(school: Settings) -> tuple[Craft, ...]:
    """All aircraft: the school's own first, then the invented ones."""
    own = []
    for key in _own_keys(school):
        text = school.setting(FILE + key)
        aircraft = aircraft_from_text(f"{key}.toml", text)
        own.append(Craft(key, aircraft.name, _about(text), aircraft, text))
    return (*own, *demo_fleet())


def craft_of(school: Settings, key: str) -> Craft:
    """The aircraft of that key.

    Raises:
        Refused: 404, when there is none.
    """
    everyone = fleet(school)
    for craft in everyone:
        if craft.key == key:
            return craft
    near = nearest_of(key, [craft.key for craft in everyone])
    raise Refused(404, "aircraft", f"there is no '{key[:40]}' here", near)


def add_aircraft(school: Settings, text: str) -> Craft:
    """Takes an aircraft by its file; the same name again replaces the file.

    Raises:
        InputError: what is wrong with the file, or a name that an invented aircraft has.
    """
    aircraft = aircraft_from_text("aircraft file", text)
    if aircraft.name == Aircraft().name:
        raise InputError("aircraft file, name", "missing", 'begin with name = "..."')
    key = key_of(aircraft.name)
    if any(craft.key == key for craft in demo_fleet()):
        raise InputError(
            "aircraft file, name", f"'{aircraft.name}' is one of the demo's", "give another name"
        )
    keys = _own_keys(school)
    if key not in keys:
        if len(keys) >= MOST_AIRCRAFT:
            raise InputError("aircraft", f"{len(keys)} are here", f"at most {MOST_AIRCRAFT}")
        school.set_setting(LIST, json.dumps([*keys, key]))
    school.set_setting(FILE + key, text)
    return Craft(key, aircraft.name, _about(text), aircraft, text)


def craft_by_code(school: Settings, code: str) -> Craft | None:
    """The aircraft whose log this code opens; None when no aircraft has it."""
    for craft in fleet(school):
        own = school.setting(CODE + craft.key)
        if own and hmac.compare_digest(own.encode(), code.upper().encode()):
            return craft
    return None
