"""What the pages can choose from: the demo's flights, aircraft and papers, and the ways into the engine."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from functools import lru_cache
from pathlib import Path

from lubberline.errors import InputError, nearest_of, required
from lubberline.flight.flights import parse_wind, read_flight_bytes
from lubberline.flight.home import Home
from lubberline.flight.motion import Motion
from lubberline.instruments.faults import FAULTS, Fault
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.flown import Flown
from lubberline.simulation.flying import fly
from lubberline.simulation.misconceptions import FLOWN, Misconception
from lubberline.store.fleet import demo_folder, demo_home
from lubberline.textfile import as_toml, toml_of

# The healthy aircraft comes first: faults are compared with it.
COMPARED_WITH = "zz_oak"
# Flights of the demo that are flown anywhere, with their titles.
ANYWHERE = {"short_circuit": "Short circuit", "hold_45n": "Circuits and a hold"}
MORNING = time(10, 0)


@dataclass(frozen=True)
class Choice:
    """A flight or an aircraft of the list: its name in an address, its title, a sentence, its file.

    Attributes:
        name: in an address.
        title: as shown.
        about: a sentence.
        path: of its file; None where there is only its text.
        text: of its file, where it has none.
    """

    name: str
    title: str
    about: str
    path: Path | None = None
    text: str = ""

    def read(self) -> str:
        """The text of its file."""
        return self.path.read_text(encoding="utf-8") if self.path else self.text


HEALTHY = Choice("healthy", Aircraft().name.capitalize(), "", text="")


@dataclass(frozen=True)
class Catalogue:
    """Lists to choose from, and the ways into the engine.

    Attributes:
        flights: the flights of the list; the first is the default.
        aircraft: the aircraft of the list; the first is the default.
        faults: faults that may be tried, by name.
        ideas: wrong ideas that may be shown as ghosts.
        fly: `lubberline.fly`.
        read_flight: reads a given file from its name, its bytes and a wind as text ('': none).
    """

    flights: tuple[Choice, ...]
    aircraft: tuple[Choice, ...]
    faults: Mapping[str, Fault]
    ideas: tuple[Misconception, ...]
    fly: Callable[..., Flown]
    read_flight: Callable[[str, bytes, str], Motion]

    def at(self, home: Home, aircraft: tuple[Choice, ...] = ()) -> "Catalogue":
        """The same for a school: the usual aircraft first, its own before the demo's, and flights at home.

        Args:
            home: of the school.
            aircraft: its own.
        """
        if home == demo_home():
            return replace(self, aircraft=(*self.aircraft, *aircraft))
        known = (*aircraft, *self.aircraft) if home.aircraft else (HEALTHY, *aircraft, *self.aircraft)
        ordered = sorted(known, key=lambda one: one.title != home.aircraft) if home.aircraft else known
        return replace(self, aircraft=tuple(ordered), flights=(*flights_at(home), *self.flights))


def chosen(where: str, name: str, choices: tuple[Choice, ...]) -> Choice:
    """The choice with that name; without a name, the first.

    Raises:
        InputError: no such name in the list; nothing outside the list is ever opened.
    """
    if not choices:
        raise InputError(where, "the list is empty", "put the demo folder next to the program")
    near = nearest_of(name, [choice.name for choice in choices])
    return required(
        next((choice for choice in choices if name in ("", choice.name)), None),
        InputError(where, f"'{name}' is not in the list", near),
    )


@lru_cache(maxsize=8)
def flights_at(home: Home) -> tuple[Choice, ...]:
    """The flights that can be flown anywhere, from home, in its morning."""
    found = []
    for stem, words in ANYWHERE.items():
        text = (demo_folder() / "flights" / f"{stem}.toml").read_text(encoding="utf-8")
        fields = toml_of(stem, text)
        higher_ft = home.elevation_ft - fields["altitude_ft"]
        start = datetime.combine(fields["start_utc"].date(), MORNING, home.local(0.0).tzinfo)
        fields |= {
            "title": f"{words} at {home.place}",
            "start_utc": start.astimezone(UTC),
            "latitude_deg": home.latitude_deg,
            "longitude_deg": home.longitude_deg,
            "altitude_ft": home.elevation_ft,
        }
        for leg in fields["leg"]:
            if "to_altitude_ft" in leg:
                leg["to_altitude_ft"] += higher_ft
        found.append(Choice(f"home_{stem}", fields["title"], _first_sentence(text), text=as_toml(fields)))
    return tuple(found)


def _choices(folder: Path, title_key: str) -> tuple[Choice, ...]:
    texts = {path: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml"))}
    choices = [
        Choice(
            path.stem, str(toml_of(path.name, text).get(title_key, path.stem)), _first_sentence(text), path
        )
        for path, text in texts.items()
    ]
    return tuple(sorted(choices, key=lambda choice: choice.name != COMPARED_WITH))


def _first_sentence(text: str) -> str:
    """The first sentence of the file's first comment."""
    comment = text.partition("\n")[0]
    return comment.lstrip("# ").partition(".")[0].strip() if comment.startswith("#") else ""


def read_given(name: str, data: bytes, wind: str) -> Motion:
    """A flight from the bytes of a given file, in a wind written `DIR/KT` ('': none)."""
    return read_flight_bytes(name, data, parse_wind(wind, "wind") if wind else None)


def demo_papers() -> tuple[Choice, ...]:
    """The blueprints of the demo's papers."""
    return _choices(demo_folder() / "papers", "title")


def demo_catalogue() -> Catalogue:
    """The invented flights and aircraft, all faults and wrong ideas, and the engine."""
    folder = demo_folder()
    return Catalogue(
        flights=_choices(folder / "flights", "title"),
        aircraft=_choices(folder / "aircraft", "name"),
        faults=FAULTS,
        ideas=tuple(FLOWN),
        fly=fly,
        read_flight=read_given,
    )
