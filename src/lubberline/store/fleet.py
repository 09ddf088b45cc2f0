"""The aircraft and the home in use: the school's own, and the demo's where it has none."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import msgspec

from lubberline.errors import InputError, nearest_of
from lubberline.flight.home import Home, read_home
from lubberline.questions.bank import check_jurisdiction
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.live.address import flown_fields
from lubberline.store.school import School
from lubberline.store.settings import (
    AIRCRAFT,
    AIRCRAFT_FILE,
    MOST_AIRCRAFT,
    aircraft_keys,
    check_setting,
    key_of,
)

PACKAGE = Path(__file__).parent.parent


def demo_folder() -> Path:
    """The demo beside the package's code (installed) or at the top of a checkout."""
    inside = PACKAGE / "demo"
    return inside if inside.is_dir() else PACKAGE.parent.parent / "demo"


@cache
def demo_home() -> Home:
    """The home of the demo school, used where none is set."""
    return read_home(demo_folder() / "home.toml")


def home_of(school: School) -> Home:
    """The school's home; the demo's if none is set."""
    return school.settings.home() or demo_home()


@dataclass(frozen=True)
class Craft:
    """An aircraft of the list.

    Attributes:
        key: its short name in addresses.
        name: from its file; the log is stored under it.
        about: the first comment of its file; '' for none.
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


def _about(text: str) -> str:
    first = text.partition("\n")[0]
    words = first.lstrip("# ").removesuffix("Invented; see demo/README.md.").strip()
    return words if first.startswith("#") else ""


@cache
def demo_fleet() -> tuple[Craft, ...]:
    """The demo aircraft with their logs, in order of their names."""
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


def fleet(school: School) -> tuple[Craft, ...]:
    """All aircraft that can be read: the school's own first, then the demo's."""
    return (*own_crafts(school)[0], *demo_fleet())


def carried(school: School | None) -> dict[str, dict[str, Any]]:
    """What each of the aircraft carries on a bench, by its name."""
    crafts = fleet(school) if school else demo_fleet()
    return {one.name: _flown(one.aircraft) for one in crafts}


_flown = lru_cache(maxsize=200)(flown_fields)


def broken(school: School) -> tuple[InputError, ...]:
    """Errors in the school's own aircraft; each names its setting."""
    return tuple(own_crafts(school)[1])


def own_crafts(school: School) -> tuple[list[Craft], list[InputError]]:
    """The school's own aircraft, and the errors of those that cannot be read."""
    own: list[Craft] = []
    wrong: list[InputError] = []
    try:
        keys = aircraft_keys(school.settings.get(AIRCRAFT))
    except InputError as error:
        return [], [error]
    for key in keys:
        name, text = AIRCRAFT_FILE + key, school.settings.get(AIRCRAFT_FILE + key)
        try:
            aircraft = _checked(name, text)
        except InputError as error:
            wrong.append(error)
        else:
            own.append(Craft(key, aircraft.name, _about(text), aircraft, text))
    return own, wrong


@lru_cache(maxsize=200)
def _checked(name: str, text: str) -> Aircraft:
    check_setting(name, text)
    return aircraft_from_text(name, text)


def craft_named(crafts: Iterable[Craft], name: str) -> Craft | None:
    """The aircraft with that name or key; None if there is none."""
    plain = " ".join(name.split()).casefold()
    return next((one for one in crafts if plain in (one.name.casefold(), one.key)), None)


def add_aircraft(school: School, text: str) -> Craft:
    """Adds an aircraft from its file; the same name replaces the file.

    Raises:
        InputError: an error in the file, or the name of a demo aircraft.
    """
    aircraft = aircraft_from_text("aircraft file", text)
    if aircraft.name == Aircraft().name:
        raise InputError("aircraft file, name", "missing", 'start the file with name = "..."')
    key = key_of(aircraft.name)
    if any(craft.key == key for craft in demo_fleet()):
        raise InputError(
            "aircraft file, name", f"'{aircraft.name}' is a demo aircraft", "choose another name"
        )
    keys = aircraft_keys(school.settings.get(AIRCRAFT))
    if key not in keys and len(keys) >= MOST_AIRCRAFT:
        raise InputError("aircraft", f"there are already {len(keys)}", f"at most {MOST_AIRCRAFT}")
    # The file first: every listed aircraft has one, even if the program stops in between.
    school.settings.put(AIRCRAFT_FILE + key, text)
    if key not in keys:
        school.settings.put(AIRCRAFT, json.dumps([*keys, key]))
    return Craft(key, aircraft.name, _about(text), aircraft, text)


def checked_home(school: School, home: Home, source: str = "home") -> Home:
    """The same home, with its aircraft's name as in its file.

    Raises:
        InputError: there is no such aircraft, or there are no such rules.
    """
    check_jurisdiction(f"{source}, regulations", home.regulations)
    if home.aircraft in ("", Aircraft().name):
        return msgspec.structs.replace(home, aircraft="")
    found = craft_named(fleet(school), home.aircraft)
    if found is None:
        near = nearest_of(home.aircraft, [one.name for one in fleet(school)])
        raise InputError(
            f"{source}, aircraft", f"there is no '{home.aircraft[:60]}'", f"add its file; {near}"
        )
    return msgspec.structs.replace(home, aircraft=found.name)
