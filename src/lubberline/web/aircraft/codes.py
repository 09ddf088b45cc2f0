"""The code that opens one aircraft's log, and nothing else, to telephones on the network."""

from __future__ import annotations

import secrets

from starlette.requests import Request

from lubberline.store.setting_names import AIRCRAFT_CODE as CODE
from lubberline.web.aircraft.fleet import Craft, Settings, craft_by_code
from lubberline.web.kit import records, shared
from lubberline.web.refusals import Refused
from lubberline.web.sides import caller, lan_addresses

# Without letters and digits that are taken for each other.
ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
LENGTH = 8
LONGEST = 64


def make_code(school: Settings, craft: Craft) -> str:
    """A new code for an aircraft's log; an old one opens nothing any more."""
    code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
    school.set_setting(CODE + craft.key, code)
    return code


def take_code(school: Settings, craft: Craft) -> None:
    """No code opens this aircraft's log any more."""
    school.set_setting(CODE + craft.key, "")


def code_of(school: Settings, craft: Craft) -> str:
    """The code of an aircraft's log; '' for none."""
    return school.setting(CODE + craft.key)


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
        # A phone sends what waits on it again and again, and is not to use up the tries of those beside it.
        tries.failed(address, code[:LONGEST])
        right = "ask for the code again, or scan the picture"
        raise Refused(404, "code", "opens no aircraft's log", right, "no-place")
    return craft


def log_addresses(request: Request, code: str) -> list[str]:
    """The addresses under which telephones find a log: through the proxy, or on the network."""
    door = shared(request).door
    if door.behind:
        return [f"{door.behind}/log/{code}"]
    port = request.url.port or 80
    hosts = lan_addresses() if door.lan else ()
    return [f"http://{host}:{port}/log/{code}" for host in hosts]


def qr_picture(address: str) -> str:
    """An address as a QR picture, as the text of an image's source."""
    import segno

    made: str = segno.make(address, error="m").svg_data_uri(
        scale=4, border=2, dark="#000000", light="#ffffff"
    )
    return made
