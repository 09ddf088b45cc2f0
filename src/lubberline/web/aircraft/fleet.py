"""The demo's and the school's own aircraft, and the codes for their logs."""

import hmac
import json
import secrets
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.live.address import flown_fields
from lubberline.store.settings import (
    AIRCRAFT,
    AIRCRAFT_CODE,
    AIRCRAFT_FILE,
    MOST_AIRCRAFT,
    aircraft_keys,
    check_setting,
    key_of,
)
from lubberline.web.callers import caller, lan_addresses
from lubberline.web.catalogue import Catalogue, Choice, demo_folder
from lubberline.web.kit import (
    InputError,
    Refused,
    Request,
    School,
    Unavailable,
    home_for,
    nearest_of,
    records,
    required,
    shared,
)
from lubberline.web.records import Opening

# Without letters and digits that are easily confused.
ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
CODE_LENGTH = 8
LONGEST_CODE = 64


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
    return (*_own(school)[0], *demo_fleet())


def carried(school: School | None) -> dict[str, dict[str, Any]]:
    """What each of the aircraft carries on a bench, by its name."""
    crafts = fleet(school) if school else demo_fleet()
    return {one.name: _flown(one.aircraft) for one in crafts}


def carried_now(opening: Opening) -> dict[str, dict[str, Any]]:
    """As `carried`; only the demo's while the records cannot be read."""
    with suppress(Unavailable):
        return carried(opening())
    return carried(None)


_flown = lru_cache(maxsize=200)(flown_fields)


def broken(school: School) -> tuple[InputError, ...]:
    """Errors in the school's own aircraft; each names its setting."""
    return tuple(_own(school)[1])


def _own(school: School) -> tuple[list[Craft], list[InputError]]:
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


def craft_of(school: School, key: str) -> Craft:
    """The aircraft of that key.

    Raises:
        Refused: 404, when there is none.
    """
    everyone = fleet(school)
    near = nearest_of(key, [craft.key for craft in everyone])
    return required(
        next((craft for craft in everyone if craft.key == key), None),
        Refused(404, "aircraft", f"there is no '{key[:40]}'", near),
    )


def catalogue_for(request: Request) -> Catalogue:
    """What this school can choose from: while its records cannot be read, without its own aircraft."""
    own: tuple[Choice, ...] = ()
    with suppress(Unavailable):
        found = _own(records(request))[0]
        own = tuple(Choice(one.key, one.name, one.about, text=one.file_text) for one in found)
    return shared(request).catalogue.at(home_for(request), own)


def craft_asked(request: Request) -> Craft:
    """The aircraft whose key an address has.

    Raises:
        Refused: 404, when there is none.
    """
    return craft_of(records(request), request.path_params["key"])


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


def craft_by_code(school: School, code: str) -> Craft | None:
    """The aircraft whose log this code opens; None for no aircraft."""
    for craft in fleet(school):
        own = school.settings.get(AIRCRAFT_CODE + craft.key)
        if own and hmac.compare_digest(own.encode(), code.upper().encode()):
            return craft
    return None


def make_code(school: School, craft: Craft) -> str:
    """A new code for an aircraft's log; the old one becomes invalid."""
    code = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
    school.settings.put(AIRCRAFT_CODE + craft.key, code)
    return code


def take_code(school: School, craft: Craft) -> None:
    """Removes the code of an aircraft's log."""
    school.settings.put(AIRCRAFT_CODE + craft.key, "")


def code_of(school: School, craft: Craft) -> str:
    """The code of an aircraft's log; '' for none."""
    return school.settings.get(AIRCRAFT_CODE + craft.key)


def craft_for(request: Request, code: str) -> Craft:
    """The aircraft whose log a code opens.

    Raises:
        Refused: 404 for a wrong code, 429 after too many of them.
    """
    tries = shared(request).log_tries
    address = caller(request).address
    tries.check(address)
    craft = craft_by_code(records(request), code)
    if craft is None:
        # A phone repeats its waiting sendings, which must not use up the tries of other phones.
        tries.failed(address, code[:LONGEST_CODE])
        right = "ask for the code again, or scan it"
        raise Refused(404, "code", "not the code of an aircraft's log", right, "no-place")
    return craft


def log_addresses(request: Request, code: str) -> list[str]:
    """The addresses of a log for phones: through the proxy, or on the network."""
    door = shared(request).door
    if door.behind:
        return [f"{door.behind}/log/{code}"]
    port = request.url.port or 80
    hosts = lan_addresses() if door.lan else ()
    return [f"http://{host}:{port}/log/{code}" for host in hosts]
