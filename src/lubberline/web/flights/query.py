"""A request to the Flights page: a record, to and from a query string."""

import math
from typing import Literal, TypeVar
from urllib.parse import urlencode

import msgspec
from starlette.datastructures import QueryParams

from lubberline.errors import InputError, required
from lubberline.web.forms import number_in

FAULT_FIELDS = ("fault_name", "fault_size", "fault_at_min")
Source = Literal["", "compass", "truth"]
SOURCES: tuple[Source, ...] = ("", "compass", "truth")
REFERENCES = ("magnetic", "true")
MOST_FAULTS = 6
MOST_IDEAS = 3


class FlightQuery(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The request for one flight; an empty name means the first of the list."""

    flight: str = ""
    aircraft: str = ""
    set_every_min: float | None = None
    set_from: Source = ""
    true_reference: bool = False
    wind: str = ""
    faults: tuple[str, ...] = ()
    believe: tuple[str, ...] = ()
    seed: int = 0

    def address(self) -> str:
        """The query string for this state, without default values."""
        pairs = [
            ("flight", self.flight),
            ("aircraft", self.aircraft),
            ("set_every_min", "" if self.set_every_min is None else f"{self.set_every_min:g}"),
            ("set_from", self.set_from),
            ("reference", "true" if self.true_reference else ""),
            ("wind", self.wind),
            *(("fault", fault) for fault in self.faults),
            *(("believe", idea) for idea in self.believe),
            ("seed", str(self.seed) if self.seed else ""),
        ]
        return "?" + urlencode([pair for pair in pairs if pair[1]], safe="/=@")


def _number(query: QueryParams, name: str, right: str) -> float | None:
    text = query.get(name, "").strip()
    if not text:
        return None
    value = number_in(text)
    if math.isnan(value):
        raise InputError(name, f"'{text}' is not a number", right)
    return value


Word = TypeVar("Word", bound=str)


def _one_of(query: QueryParams, name: str, allowed: tuple[Word, ...]) -> Word:
    found = query.get(name, "") or allowed[0]
    return required(
        next((word for word in allowed if word == found), None),
        InputError(name, f"'{found}' is not known", "allowed: " + ", ".join(filter(None, allowed))),
    )


def _form_faults(query: QueryParams) -> list[str]:
    """Faults from the form without script: three parallel lists of fields."""
    columns = [query.getlist(name) for name in FAULT_FIELDS]
    return [
        name + (f"={size.strip()}" if size.strip() else "") + f"@{at_min.strip() or '0'}"
        for name, size, at_min in zip(*columns, strict=False)
        if name
    ]


def has_form_fields(query: QueryParams) -> bool:
    """Whether the query comes from the form, so that its address can be shortened."""
    return any(name in query for name in FAULT_FIELDS)


def query_in_address(query: QueryParams) -> FlightQuery:
    """The state in an address.

    Raises:
        InputError: an invalid value; unknown keys are ignored, as the script has its own there.
    """
    return checked(
        FlightQuery(
            flight=query.get("flight", ""),
            aircraft=query.get("aircraft", ""),
            set_every_min=_number(query, "set_every_min", "minutes, or empty for the flight's own"),
            set_from=_one_of(query, "set_from", SOURCES),
            true_reference=_one_of(query, "reference", REFERENCES) == "true",
            wind=query.get("wind", "").strip(),
            faults=tuple([fault for fault in query.getlist("fault") if fault] + _form_faults(query)),
            believe=tuple(idea for idea in query.getlist("believe") if idea),
            seed=int(_number(query, "seed", "a whole number") or 0),
        )
    )


def query_in_json(body: bytes) -> FlightQuery:
    """The state in a request of the script.

    Raises:
        InputError: not JSON, an unknown field, or a value of the wrong type.
    """
    try:
        return checked(msgspec.json.decode(body, type=FlightQuery))
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise InputError("request", str(error), "the fields of one flight as JSON") from None


def checked(asked: FlightQuery) -> FlightQuery:
    """The same state, checked against the limits.

    Raises:
        InputError: too many faults or ideas, or an unreasonable interval.
    """
    if len(asked.faults) > MOST_FAULTS:
        raise InputError("fault", f"{len(asked.faults)} faults", f"at most {MOST_FAULTS} at once")
    if len(asked.believe) > MOST_IDEAS:
        raise InputError("believe", f"{len(asked.believe)} ideas", f"at most {MOST_IDEAS} at once")
    every_min = asked.set_every_min
    if every_min is not None and not 0.5 <= every_min <= 1440:
        raise InputError("set_every_min", f"{every_min:g} min", "between 0.5 and 1440 min, or empty")
    if not 0 <= asked.seed < 2**31:
        raise InputError("seed", str(asked.seed), "a whole number from 0 to 2147483647")
    return asked
