"""A scene: the start of a bench, its instruments, and its events."""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from lubberline.errors import InputError, check_known, within
from lubberline.simulation.aircraft import Aircraft, aircraft_from_fields
from lubberline.simulation.live.orders import Order, Pace, Pause, Refit, order_of, state_orders
from lubberline.simulation.live.parts import PARTS, Piece, pieces_of, plain_of
from lubberline.simulation.live.state import BENCH_AIRCRAFT, Start
from lubberline.typed_fields import typed

Seconds = Annotated[float, Meta(ge=0.0, le=86400.0)]
Share = Annotated[float, Meta(ge=0.0, le=1.0)]
Dial = Literal["heading", "compass", "suction", "rotor"]
# What a camera can look at beside the single parts.
LOOKS = ("instrument", "rotor", "card", "air", "whole")
GREATEST_EVENTS = 500
GREATEST_STEPS = 40
# A scene without a given length ends this long after its last entry.
AFTERMATH_S = 5.0


class EventEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An event: an order, a caption, or both; `do` has the fields of an order."""

    at_s: Seconds
    do: dict[str, Any] | None = None
    caption: str = ""


class Camera(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The view of the cutaway from a time on.

    `look`: one of `LOOKS`, or the id of a part. `follow`: what the eye moves with.
    """

    at_s: Seconds = 0.0
    orbit_deg: float = 0.0
    height_deg: float = 20.0
    distance: Annotated[float, Meta(gt=0.0, le=20.0)] = 1.0
    explode: Share = 0.0
    hide_case: bool = False
    look: str = "whole"
    follow: Literal["heading", "aircraft", "earth"] = "heading"


class Claim(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The bounds of a number of the frame at a time; the tests check them."""

    at_s: Seconds
    name: str
    low: float
    high: float


class SecondEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The instruments of a second aircraft."""

    aircraft: dict[str, Any] = {}


class StepEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A step of a tour as it is written: a bench of its own, seen from one place.

    `say` and `attempt` (`try` in the file) may name parts as links; see `parts.pieces_of`. `start` says what
    differs from the scene's, and the scene's own events come first.
    """

    title: Annotated[str, Meta(min_length=1, max_length=80)]
    say: Annotated[str, Meta(min_length=1, max_length=300)]
    attempt: Annotated[str, Meta(min_length=1, max_length=200)] = msgspec.field(name="try")
    part: str = ""
    dial: Dial = "heading"
    from_s: Seconds = 0.0
    unclaimed: tuple[str, ...] = ()
    start: dict[str, Any] = {}
    aircraft: dict[str, Any] | None = None
    event: Annotated[tuple[EventEntry, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    camera: Camera = Camera()
    claim: Annotated[tuple[Claim, ...], Meta(max_length=GREATEST_EVENTS)] = ()


class SceneEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A scene file as it is written.

    `unclaimed`: parts of its texts whose numbers need no claim, such as a latitude or another scene's number.
    `from_s`: the moment at which it opens. `dial`: the large one beside the instrument.
    """

    id: Annotated[str, Meta(pattern="^[a-z0-9][a-z0-9_-]{0,60}$")]
    title: Annotated[str, Meta(min_length=1, max_length=200)]
    aim: str = ""
    watch: str = ""
    ask: str = ""
    cautions: str | tuple[str, ...] = ()
    unclaimed: tuple[str, ...] = ()
    dial: Dial = "heading"
    from_s: Seconds = 0.0
    length_s: Seconds | None = None
    start: Start = Start()
    aircraft: dict[str, Any] | None = None
    event: Annotated[tuple[EventEntry, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    camera: Annotated[tuple[Camera, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    claim: Annotated[tuple[Claim, ...], Meta(max_length=GREATEST_EVENTS)] = ()
    second: SecondEntry | None = None
    step: Annotated[tuple[StepEntry, ...], Meta(max_length=GREATEST_STEPS)] = ()


class Event(msgspec.Struct, frozen=True):
    """An event as read."""

    at_s: float
    order: Order | None
    caption: str


class Step(msgspec.Struct, frozen=True):
    """A step of a tour, read.

    Attributes:
        entry: as it is written.
        say: the sentence, in pieces.
        attempt: the thing to try, in pieces.
        scene: its state of the engine, as a scene of its own.
    """

    entry: StepEntry
    say: tuple[Piece, ...]
    attempt: tuple[Piece, ...]
    scene: "Scene"


class Scene(msgspec.Struct, frozen=True):
    """A scene, read.

    Attributes:
        entry: the file's words, cameras and claims.
        aircraft: of one aircraft, or of two side by side.
        events: in order of time.
        steps: of a tour; none for a scene that is flown from its start to its end.
    """

    entry: SceneEntry
    aircraft: tuple[Aircraft, ...] = (BENCH_AIRCRAFT,)
    events: tuple[Event, ...] = ()
    steps: tuple[Step, ...] = ()

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
    with within("do"):
        order = order_of(event.do, where)
        if not isinstance(order, (*state_orders(), Refit, Pace, Pause)):
            kind = str(event.do["do"])
            raise InputError(
                f"{where}, do", f"a scene cannot give the order '{kind}'", "flying, faults, pace, pause"
            )
    return order


def _event(event: EventEntry, source: str, place: int) -> Event:
    with within("event", place):
        return Event(event.at_s, _order(event, f"{source}, event {place + 1}"), event.caption)


def _step(source: str, fields: dict[str, Any], entry: StepEntry) -> Step:
    """A step of the tour whose file has these fields.

    Raises:
        InputError: a part that does not exist, or as `scene_of`.
    """
    if entry.part:
        with within("part"):
            check_known(f"{source}, part", "part", entry.part, PARTS)
    with within("say"):
        say = pieces_of(entry.say, f"{source}, say")
    with within("try"):
        attempt = pieces_of(entry.attempt, f"{source}, try")
    own = {
        "id": fields["id"],
        "title": entry.title,
        "aim": plain_of(entry.say),
        "watch": plain_of(entry.attempt),
        "dial": entry.dial,
        "from_s": entry.from_s,
        "unclaimed": entry.unclaimed,
        "start": {**fields.get("start", {}), **entry.start},
        "aircraft": fields.get("aircraft") if entry.aircraft is None else entry.aircraft,
        "event": [*fields.get("event", []), *msgspec.to_builtins(entry.event)],
        **msgspec.to_builtins({"camera": (entry.camera,), "claim": entry.claim}),
    }
    return Step(entry, say, attempt, scene_of(source, own))


def scene_of(source: str, fields: dict[str, Any]) -> Scene:
    """A scene from the plain fields of its file.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    entry = typed(source, fields, SceneEntry, "see docs/developers/live.md")
    for place, camera in enumerate(entry.camera):
        with within("camera", place, "look"):
            check_known(f"{source}, camera {place + 1}, look", "part", camera.look, (*LOOKS, *PARTS))
    events = tuple(_event(event, source, place) for place, event in enumerate(entry.event))
    with within("aircraft"):
        aircraft = [bench_aircraft(entry.aircraft, f"{source}, aircraft")]
    if entry.second is not None:
        with within("second", "aircraft"):
            aircraft.append(bench_aircraft(entry.second.aircraft, f"{source}, second.aircraft"))
    steps = []
    for place, step in enumerate(entry.step):
        with within("step", place):
            steps.append(_step(f"{source}, step {place + 1}", fields, step))
    return Scene(entry, tuple(aircraft), tuple(sorted(events, key=lambda event: event.at_s)), tuple(steps))
