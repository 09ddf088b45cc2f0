"""The orders of a bench: one record for each, from a message or a scene."""

from typing import Annotated, Any, Literal, cast

import msgspec
from msgspec import UNSET, Meta, UnsetType

from lubberline.errors import InputError, nearest_of
from lubberline.instruments.faults import size_of
from lubberline.simulation.fitted import instruments
from lubberline.simulation.misconceptions import FLOWN_BY_ID
from lubberline.typed_fields import typed

Heading = Annotated[float, Meta(ge=-360.0, le=360.0)]
Latitude = Annotated[float, Meta(ge=-89.9, le=89.9)]
Longitude = Annotated[float, Meta(ge=-180.0, le=180.0)]
Level = Literal["off", "light", "moderate", "severe"]


def side(degrees: float) -> str:
    """So many degrees to the right or left, in words."""
    return f"{abs(degrees):g} deg {'right' if degrees > 0.0 else 'left'}"


class Order(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="do"):
    """An order to a bench."""

    def check(self, where: str) -> None:
        """Check that its fields are consistent.

        Raises:
            InputError: when they do not.
        """


class Bank(Order, frozen=True, tag="bank"):
    """Fly a coordinated turn at this bank, right positive."""

    to_deg: Annotated[float, Meta(ge=-75.0, le=75.0)]


class Rate(Order, frozen=True, tag="rate"):
    """Turn at this rate, right positive; flat on the ground."""

    to_deg_s: Annotated[float, Meta(ge=-12.0, le=12.0)]


class Heading_(Order, frozen=True, tag="heading"):  # noqa: N801 - `Heading` is the number
    """Turn to this true heading the shortest way, and hold it; at rate one, at most 25 deg of bank."""

    to_deg: Heading
    bank_deg: Annotated[float, Meta(ge=1.0, le=75.0)] | None = None


class Pitch(Order, frozen=True, tag="pitch"):
    """Hold this pitch without changing the path; 0 returns pitch control to the climb."""

    to_deg: Annotated[float, Meta(ge=-100.0, le=100.0)]


class Roll(Order, frozen=True, tag="roll"):
    """Hold this bank without turning or changing the path."""

    to_deg: Annotated[float, Meta(ge=-180.0, le=180.0)]


class Climb(Order, frozen=True, tag="climb"):
    """Climb or descend at this rate."""

    to_fpm: Annotated[float, Meta(ge=-6000.0, le=6000.0)]


class Speed(Order, frozen=True, tag="speed"):
    """Change the true airspeed at so many g along the path."""

    to_kt: Annotated[float, Meta(ge=0.0, le=700.0)]
    at_g: Annotated[float, Meta(ge=0.01, le=0.5)] = 0.1


class Place(Order, frozen=True, tag="place"):
    """Move to another place at once, without changing the instruments."""

    latitude_deg: Latitude
    longitude_deg: Longitude


class Taxi(Order, frozen=True, tag="taxi"):
    """Be on the ground at taxiing speed, or in the air at flying speed again."""

    on: bool


class Rough(Order, frozen=True, tag="rough"):
    """Rough air."""

    level: Level


class Fault(Order, frozen=True, tag="fault"):
    """Give a fault a size; 0 ends it. `second`: in the second aircraft."""

    name: str
    size: Annotated[float, Meta(ge=0.0)]
    second: bool = False


class Engine(Order, frozen=True, tag="engine"):
    """Engine speed."""

    rpm: Annotated[float, Meta(ge=0.0, le=2700.0)]


class Ghost(Order, frozen=True, tag="ghost"):
    """Start or stop showing what somebody with a wrong idea expects."""

    id: str
    on: bool


class Refit(Order, frozen=True, tag="aircraft"):
    """Change the aircraft's instruments; they start again, set correctly.

    Its fields are those that each instrument of the registry says may be changed: see `refit_kind`.
    """


class Take(Order, frozen=True, tag="take"):
    """Become the driver."""


class Pace(Order, frozen=True, tag="pace"):
    """Seconds of the bench per second."""

    factor: Annotated[float, Meta(ge=0.1, le=600.0)]


class Pause(Order, frozen=True, tag="pause"):
    """Stop, or go on."""

    on: bool


class Step(Order, frozen=True, tag="step"):
    """Go on by so much and stop."""

    seconds: Annotated[float, Meta(ge=0.1, le=60.0)]


class Run(Order, frozen=True, tag="run"):
    """Go on for so long at a pace, then stop at the pace of 1; another pace, or going back, calls it off."""

    seconds: Annotated[float, Meta(ge=0.1, le=3600.0)]
    factor: Annotated[float, Meta(ge=0.1, le=600.0)] = 1.0


class Rewind(Order, frozen=True, tag="rewind"):
    """Go back to a time and stop there."""

    to_s: Annotated[float, Meta(ge=0.0)]


class PlayScene(Order, frozen=True, tag="scene"):
    """Open a scene, or this step of a tour, counted from 1; with `paused` it waits until it is started."""

    id: str
    paused: bool = False
    step: Annotated[int, Meta(ge=1)] = 1


class Reset(Order, frozen=True, tag="reset"):
    """Start again from where this bench or scene started."""


class OpenState(Order, frozen=True, tag="state"):
    """Start from a state's address."""

    text: str


SESSION_ORDERS = (Take, Pace, Pause, Step, Run, Rewind, PlayScene, Reset, OpenState)
FLIGHT_ORDERS = (Bank, Rate, Heading_, Pitch, Roll, Climb, Speed, Place, Taxi, Rough, Fault, Engine, Ghost)


def refit_kind() -> type[Refit]:
    """The order that changes what an aircraft carries, with the fields of every instrument."""
    given = [item for each in instruments().values() for item in each.instrument.refit.items()]
    fields = [(name, kind | UnsetType, UNSET) for name, (kind, _) in given]
    kind = msgspec.defstruct(
        "Refit", fields, bases=(Refit,), frozen=True, forbid_unknown_fields=True, tag="aircraft"
    )
    return cast(type[Refit], kind)


def state_orders() -> tuple[type[Order], ...]:
    """The orders to a bench's aircraft and instruments."""
    return (*FLIGHT_ORDERS, *(kind for each in instruments().values() for kind in each.orders), refit_kind())


def order_kinds() -> dict[str, type[Order]]:
    """Every order by its name."""
    kinds: tuple[type[Order], ...] = (*state_orders(), *SESSION_ORDERS)
    return {str(kind.__struct_config__.tag): kind for kind in kinds}


# Fields for which null has a meaning: no latitude nut.
NULLABLE = frozenset({"latitude_balance_deg"})
NOTHING = "none"


def checked(order: Order, where: str) -> Order:
    """The same order with its names checked.

    Raises:
        InputError: a fault or wrong idea that does not exist, a setting from nothing or from two things.
    """
    if isinstance(order, Fault):
        size_of(order.name, order.size, where=f"{where}, fault")
    elif isinstance(order, Ghost) and order.id not in FLOWN_BY_ID:
        raise InputError(
            f"{where}, id", f"there is no wrong idea '{order.id}'", nearest_of(order.id, [*FLOWN_BY_ID])
        )
    order.check(where)
    return order


def order_of(fields: Any, where: str) -> Order:
    """An order from its plain fields.

    Raises:
        InputError: no order, one that does not exist, or a field that is not right.
    """
    kind = fields.get("do") if isinstance(fields, dict) else None
    if not isinstance(kind, str):
        raise InputError(
            where,
            "this is not an order",
            'an object with \'do\', as {"do": "bank", "to_deg": 30}',
        )
    # A form's empty field is sent as nothing, which is as if it were left out.
    # A file of TOML has no null, and says it in a word.
    fields = {
        name: None if name in NULLABLE and value == NOTHING else value
        for name, value in fields.items()
        if value is not None or name in NULLABLE
    }
    kinds = order_kinds()
    if kind not in kinds:
        raise InputError(
            f"{where}, do",
            f"there is no order '{kind[:40]}'",
            nearest_of(kind, [*kinds]),
        )
    names = [entry.encode_name for entry in msgspec.structs.fields(kinds[kind])]
    right = f"{kind} takes: {', '.join(names) or 'nothing'}"
    order: Order = typed(f"{where}, {kind}", fields, kinds[kind], right)
    return checked(order, where)


def order_in_json(text: str | bytes, where: str = "message") -> Order:
    """An order from a message.

    Raises:
        InputError: not JSON, or as `order_of`.
    """
    try:
        fields = msgspec.json.decode(text)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise InputError(where, f"not JSON: {error}", "one order as a JSON object") from None
    return order_of(fields, where)
