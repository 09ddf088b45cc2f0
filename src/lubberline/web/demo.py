"""The demo and the engine as the page's house: what `create_app` uses when it is given no other."""

from __future__ import annotations

from pathlib import Path

from lubberline.flight.flights import parse_wind, read_flight_bytes
from lubberline.flight.motion import Motion
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.flying import fly
from lubberline.simulation.misconceptions import FLOWN
from lubberline.textfile import toml_of
from lubberline.web.house import Choice, House

# The healthy aircraft comes first: it is what a fault is compared with.
COMPARED_WITH = "zz_oak"
PACKAGE = Path(__file__).parent.parent


def demo_folder() -> Path:
    """The demo beside the package's code (installed) or at the top of a checkout."""
    inside = PACKAGE / "demo"
    return inside if inside.is_dir() else PACKAGE.parent.parent / "demo"


def _choices(folder: Path, title_key: str) -> tuple[Choice, ...]:
    choices = []
    for path in sorted(folder.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        words = str(toml_of(path.name, text).get(title_key, path.stem))
        choices.append(Choice(path.stem, words, _first_sentence(text), path))
    return tuple(sorted(choices, key=lambda choice: choice.name != COMPARED_WITH))


def _first_sentence(text: str) -> str:
    """What the file's first comment says of it, up to the first full stop."""
    comment = text.partition("\n")[0]
    return comment.lstrip("# ").partition(".")[0].strip() if comment.startswith("#") else ""


def read_given(name: str, data: bytes, wind: str) -> Motion:
    """A flight from the bytes of a given file, in a wind written `DIR/KT` ('': none)."""
    return read_flight_bytes(name, data, parse_wind(wind, "wind") if wind else None)


def demo_papers() -> tuple[Choice, ...]:
    """The blueprints of the demo's papers."""
    return _choices(demo_folder() / "papers", "title")


def demo_house() -> House:
    """The invented flights and aircraft, all faults and wrong ideas, and the engine."""
    folder = demo_folder()
    return House(
        flights=_choices(folder / "flights", "title"),
        aircraft=_choices(folder / "aircraft", "name"),
        faults=FAULTS,
        ideas=FLOWN,
        fly=fly,
        read_flight=read_given,
    )
