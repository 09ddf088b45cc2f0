"""A scene: the start of a bench, its instruments, and its events."""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from lubberline.errors import InputError
from lubberline.simulation.aircraft import Aircraft, aircraft_from_fields
from lubberline.simulation.live.orders import Order, Pace, Pause, order_of, state_orders
from lubberline.simulation.live.state import BENCH_AIRCRAFT, Start
from lubberline.typed_fields import typed

Seconds = Annotated[float, Meta(ge=0.0, le=86400.0)]
Share = Annotated[float, Meta(ge=0.0, le=1.0)]
Look = Literal["rotor", "card", "air", "whole"]
GREATEST_EVENTS = 500
# A scene without a given length ends this long after its last entry.
AFTERMATH_S = 5.0


class EventEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An event: an order, a caption, or both; `do` has the fields of an order."""

    at_s: Seconds
    do: dict[str, Any] | None = None
    caption: str = ""


class Camera(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The view of the cutaway from a time on."""

    at_s: Seconds
    orbit_deg: float = 0.0
    height_deg: float = 20.0
    distance: Annotated[float, Meta(gt=0.0, le=20.0)] = 1.0
    explode: Share = 0.0
    hide_case: bool = False
    look: Look = "whole"


class Claim(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The bounds of a number of the frame at a time; the tests check them."""

    at_s: Seconds
    name: str
    low: float
    high: float


class SecondEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The instruments of a second aircraft."""

    aircraft: dict[str, Any] = {}


class SceneEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A scene file as it is written.

    `unclaimed`: parts of its texts whose numbers need no claim, such as a latitude or another scene's number.
    """

    id: Annotated[str, Meta(pattern="^[a-z0-9][a-z0-9_-]{0,60}$")]
    title: Annotated[str, Meta(min_length=1, max_length=200)]
    aim: str = ""
    watch: str = ""
    ask: str = ""
    cautions: str | tuple[str, ...] = ()
    unclaimed: tuple[str, ...] = ()
    length_s: Seconds | None = None
    start: Start = Start()
    aircraft: dict[str, Any] | None = None
    event: Annotated[tuple[EventEntry, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    camera: Annotated[tuple[Camera, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    claim: Annotated[tuple[Claim, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    second: SecondEntry | None = None


class Event(msgspec.Struct, frozen=True):
    """An event as read."""

    at_s: float
    order: Order | None
    caption: str


class Scene(msgspec.Struct, frozen=True):
    """A scene, read.

    Attributes:
        entry: the file's words, cameras and claims.
        aircraft: of one aircraft, or of two side by side.
        events: in order of time.
    """

    entry: SceneEntry
    aircraft: tuple[Aircraft, ...] = (BENCH_AIRCRAFT,)
    events: tuple[Event, ...] = ()

    @property
    def length_s(self) -> float:
        """Its length."""
        if self.entry.length_s is not None:
            return self.entry.length_s
        entry = self.entry
        told: tuple[EventEntry | Camera | Claim, ...] = (*entry.event, *entry.camera, *entry.claim)
        return max((one.at_s for one in told), default=0.0) + AFTERMATH_S

    @property
    def cautions(self) -> tuple[str, ...]:
        """Its cautions."""
        given = self.entry.cautions
        return (given,) if isinstance(given, str) else given


def bench_aircraft(fields: dict[str, Any] | None, source: str) -> Aircraft:
    """An aircraft by `docs/instructors/aircraft.md`; random parts are 0 unless given.

    Raises:
        InputError: as `aircraft.aircraft_from_fields`.
    """
    if fields is None:
        return BENCH_AIRCRAFT
    indicator = fields.get("heading_indicator", {})
    if isinstance(indicator, dict):
        indicator = {"real_wander_sd_deg_15min": 0.0, "random_wander_deg_15min": 0.0, **indicator}
    return aircraft_from_fields(source, {"name": "bench", **fields, "heading_indicator": indicator})


def _order(event: EventEntry, where: str) -> Order | None:
    """What an event does.

    Raises:
        InputError: an order that is not right, or that is not for a scene to give.
    """
    if event.do is None:
        return None
    order = order_of(event.do, where)
    if not isinstance(order, (*state_orders(), Pace, Pause)):
        kind = str(event.do["do"])
        raise InputError(
            f"{where}, do", f"a scene cannot give the order '{kind}'", "flying, faults, pace, pause"
        )
    return order


def scene_of(source: str, fields: dict[str, Any]) -> Scene:
    """A scene from the plain fields of its file.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    entry = typed(source, fields, SceneEntry, "see docs/developers/live.md")
    events = tuple(
        Event(event.at_s, _order(event, f"{source}, event {number}"), event.caption)
        for number, event in enumerate(entry.event, start=1)
    )
    aircraft = [bench_aircraft(entry.aircraft, f"{source}, aircraft")]
    if entry.second is not None:
        aircraft.append(bench_aircraft(entry.second.aircraft, f"{source}, second.aircraft"))
    return Scene(entry, tuple(aircraft), tuple(sorted(events, key=lambda event: event.at_s)))
