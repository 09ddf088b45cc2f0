"""`lubberline home`: the school's place, clock, usual aircraft, rules, units and paper."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING, NamedTuple

from lubberline.commands.options import Command, number, option, out
from lubberline.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from lubberline.flight.home import Home, Paper
    from lubberline.simulation.aircraft import Aircraft
    from lubberline.simulation.scenes import Library
    from lubberline.store.school import School

NOT_SET = "No home is set: the demo school's is used. Set yours with 'lubberline home set'."


class InUse(NamedTuple):
    """A home, and what is said of it after the work: that none is set."""

    home: Home
    notes: tuple[str, ...] = ()


def home_in_use(file: str | None = None) -> InUse:
    """The home of a file, else the school's, else the demo's.

    Raises:
        InputError: the file is not right.
        Unavailable: the records cannot be read.
    """
    from lubberline.flight.home import read_home
    from lubberline.questions.bank import check_jurisdiction
    from lubberline.store.fleet import demo_home

    if file:
        given = read_home(file)
        check_jurisdiction(f"{file}, regulations", given.regulations)
        return InUse(given)
    kept = home_kept()
    return InUse(kept) if kept else InUse(demo_home(), (f"Note: {NOT_SET}",))


def paper_in_use(file: str | None = None) -> Paper:
    """The size of paper of a home's file, else of the school's home, else of the demo's."""
    from lubberline.flight.home import read_home
    from lubberline.store.fleet import demo_home

    return (read_home(file) if file else home_kept() or demo_home()).paper


def aircraft_called(called: str | None) -> Aircraft:
    """The aircraft of a file, or one of the school's or the demo's by its name; a healthy one for none.

    Raises:
        InputError: there is neither, or the file is not right.
    """
    from pathlib import Path

    from lubberline.errors import nearest_of
    from lubberline.simulation.aircraft import Aircraft, read_aircraft
    from lubberline.store.fleet import craft_named, demo_fleet, fleet

    if not called:
        return Aircraft()
    if Path(called).exists() or called.endswith(".toml"):
        return read_aircraft(called)
    with _records() as school:
        everyone = fleet(school) if school else demo_fleet()
    found = craft_named(everyone, called)
    if found is None:
        right = nearest_of(called, [one.name for one in everyone])
        raise InputError("--aircraft", f"there is no file or aircraft '{called[:60]}'", right)
    return found.aircraft


def library_in_use(scenes: Path, home: Home | None = None) -> Library:
    """The scenes of a folder and of the program, flown at a home, with the school's aircraft to name.

    Args:
        scenes: the folder of own scenes.
        home: by default the school's, or the demo's.
    """
    from lubberline.simulation.scenes import SchoolScenes
    from lubberline.store.fleet import carried

    at = home or home_in_use().home
    with _records() as school:
        crafts = carried(school)
    return SchoolScenes(scenes, lambda: at, lambda: crafts).library()


@contextmanager
def _records() -> Iterator[School | None]:
    """The records; None where there are none yet, and none are made."""
    from lubberline.store.inventory import survey
    from lubberline.store.school import open_school

    if survey().step is None:
        yield None
        return
    with closing(open_school()) as school:
        yield school


def home_kept() -> Home | None:
    """The school's home; None if none is set. Makes no records where there are none."""
    with _records() as school:
        return school.settings.home() if school else None


def run(given: argparse.Namespace) -> None:
    """Show it, or run the verb."""
    verb = getattr(given, "verb", None)
    if verb is not None:
        verb.act(given)
        return
    from lubberline.flight.home import home_text
    from lubberline.publish.folder import write_together
    from lubberline.store.fleet import demo_home

    kept = home_kept()
    if kept is None:
        print(NOT_SET)
    home = kept or demo_home()
    show(home)
    if given.out:
        for path in write_together({"home.toml": home_text(home).encode}, given.out):
            print(f"wrote {path}")


def show(home: Home) -> None:
    """What is set, and what follows from the place."""
    from lubberline.flight.home import home_rows
    from lubberline.store.times import now

    for name, value in home_rows(home, now()):
        print(f"{name:<16}{value}")


def _set(given: argparse.Namespace) -> None:
    from lubberline.flight.home import home_from_fields, read_home
    from lubberline.store.fleet import checked_home
    from lubberline.store.school import open_school

    fields = {name: value for name in FIELDS if (value := getattr(given, name)) is not None}
    if not fields and not given.file:
        raise InputError("home", "nothing is given", "give a home file, or options such as --place")
    with closing(open_school()) as school:
        import msgspec

        begun = read_home(given.file) if given.file else school.settings.home()
        before = msgspec.to_builtins(begun) if begun else {}
        home = home_from_fields(given.file or "home", {**before, **fields})
        home = checked_home(school, home, given.file or "home")
        school.settings.put_home(home)
    show(home)


FIELDS = (
    "place",
    "latitude_deg",
    "longitude_deg",
    "elevation_ft",
    "time_zone",
    "aircraft",
    "regulations",
    "suction",
    "paper",
)
HOME_OPTION = option("--home", metavar="FILE", help="home file (TOML); default: the school's home")
HOME = Command(
    "home",
    "the school's place, clock, usual aircraft, rules, units and paper: show, set",
    run,
    "Reading the records",
    (out("folder to write home.toml to", required=False),),
    verbs=(
        Command(
            "set",
            "set it from a file, or change parts of it",
            _set,
            options=(
                option("file", metavar="FILE", nargs="?", help="home file (TOML)"),
                option("--place", metavar="NAME", help="name of the place"),
                option(
                    "--latitude",
                    dest="latitude_deg",
                    metavar="DEG",
                    type=number(-89.0, 89.0, "degrees, north positive"),
                    help="latitude in degrees, south negative",
                ),
                option(
                    "--longitude",
                    dest="longitude_deg",
                    metavar="DEG",
                    type=number(-180.0, 180.0, "degrees, east positive"),
                    help="longitude in degrees, west negative",
                ),
                option(
                    "--elevation",
                    dest="elevation_ft",
                    metavar="FT",
                    type=number(-1500.0, 16000.0, "ft"),
                    help="feet above mean sea level",
                ),
                option("--time-zone", metavar="ZONE", help="IANA name, such as Pacific/Auckland"),
                option("--aircraft", metavar="NAME", help="the usual aircraft; '' for a healthy one"),
                option("--regulations", metavar="XX", help="whose rules are asked about; '' for none"),
                option("--suction", choices=("inHg", "hPa"), help="unit of suction"),
                option("--paper", choices=("A4", "Letter"), help="size of paper"),
            ),
        ),
    ),
    verb_needed=False,
)
