"""Aircraft as the pages ask for them, and the codes for their logs."""

import hmac
import secrets
from contextlib import suppress
from typing import Any

from lubberline.store.fleet import Craft, carried, fleet, own_crafts
from lubberline.store.settings import AIRCRAFT_CODE
from lubberline.web.callers import caller, lan_addresses
from lubberline.web.catalogue import Catalogue, Choice
from lubberline.web.kit import (
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


def carried_now(opening: Opening) -> dict[str, dict[str, Any]]:
    """As `carried`; only the demo's while the records cannot be read."""
    with suppress(Unavailable):
        return carried(opening())
    return carried(None)


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
        found = own_crafts(records(request))[0]
        own = tuple(Choice(one.key, one.name, one.about, text=one.file_text) for one in found)
    return shared(request).catalogue.at(home_for(request), own)


def craft_asked(request: Request) -> Craft:
    """The aircraft whose key an address has.

    Raises:
        Refused: 404, when there is none.
    """
    return craft_of(records(request), request.path_params["key"])


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
