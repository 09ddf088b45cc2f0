"""The form of the school's home, on the School page."""

from typing import Any
from zoneinfo import available_timezones

import msgspec

from lubberline.flight.home import Home, home_from_fields, home_rows, home_text
from lubberline.questions.bank import check_jurisdiction, jurisdictions
from lubberline.simulation.aircraft import Aircraft
from lubberline.store.times import now
from lubberline.web.aircraft.fleet import craft_named, fleet
from lubberline.web.kit import (
    Form,
    InputError,
    Request,
    Response,
    School,
    file,
    go_to,
    home_for,
    nearest_of,
    number_in,
    records,
)

FOLLOWING = ("Hemisphere", "Variation", "Dip", "Time zone")
NUMBERS = ("latitude_deg", "longitude_deg", "elevation_ft")
TEXTS = ("place", "time_zone", "aircraft", "regulations", "suction", "paper")


def shown(request: Request, form: Form) -> dict[str, Any]:
    """What the School page shows of it: the home in use, what follows from it, and what may be chosen."""
    school = records(request)
    home = home_for(request)
    fields = {name: text for name in (*NUMBERS, *TEXTS) if (text := form.get(name)) is not None}
    return {
        "is_set": school.settings.home() is not None,
        "given": {**msgspec.to_builtins(home), **fields},
        "follows": [row for row in home_rows(home, now()) if row[0] in FOLLOWING],
        "zones": sorted(available_timezones()),
        "aircraft": [one.name for one in fleet(school)],
        "regulations": jurisdictions(),
    }


def home_in(form: Form) -> Home:
    """The home of a form.

    Raises:
        InputError: naming the field.
    """
    fields: dict[str, object] = {name: form.get(name, "").strip() for name in TEXTS}
    for name in NUMBERS:
        text = form.get(name, "").strip()
        value = number_in(text or "0")
        if not text and name != "elevation_ft":
            raise InputError(f"home, {name}", "missing", "give it in degrees; south and west are negative")
        if value != value:
            raise InputError(f"home, {name}", f"'{text[:20]}' is not a number", "give a number")
        fields[name] = value
    return home_from_fields("home", fields)


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


def keep_home(request: Request, form: Form) -> Response:
    """POST /school/home: sets the home."""
    school = records(request)
    school.settings.put_home(checked_home(school, home_in(form)))
    return go_to("/school", "kept")


def home_file(request: Request) -> Response:
    """GET /school/home.toml: the home in use, as a file."""
    return file("home.toml", home_text(home_for(request)).encode())
