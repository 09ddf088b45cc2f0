"""A bench's state as the fields of a scene, so that it can be saved and opened again.

What is kept is what can be told to a bench: where it is, how it flies, what it carries, what is wrong, what
the card reads. A turn in progress, a tilted housing or a rotor that is running down are not included.
"""

import math
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

import msgspec

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.errors import InputError, nearest_of, within
from lubberline.flight.steering import BANK, HEADING, RATE
from lubberline.flight.turbulence import LEVEL_BANK_SD_DEG
from lubberline.instruments.faults import FAULTS, size_of
from lubberline.simulation.aircraft import Aircraft, aircraft_kind, whole
from lubberline.simulation.fitted import instruments
from lubberline.simulation.live.scene import Scene, scene_of
from lubberline.simulation.live.state import BENCH_AIRCRAFT, BenchState, Carried, Start
from lubberline.simulation.live.view import fault_sizes
from lubberline.units import DEG, FPM_MPS, FT_M, KT_MPS

Fields = dict[str, Any]
# What each aircraft of a school carries, by its name, as `flown_fields`.
Crafts = Mapping[str, Fields]
# The name of an aircraft that carries nothing unusual.
HEALTHY = "healthy"


def _start(state: BenchState, first: Start) -> Fields:
    here = state.samples[1]
    fields: Fields = {
        "latitude_deg": round(float(here["latitude_rad"]) / DEG, 4),
        "longitude_deg": round(wrapped_deg(float(here["longitude_rad"]) / DEG), 4),
        "heading_deg": rose_deg(round(state.steered.heading_rad / DEG, 2)),
        "speed_kt": round(state.steered.airspeed_mps / KT_MPS, 1),
        "altitude_ft": round(max(state.steered.altitude_m, 0.0) / FT_M, 0),
        "engine_rpm": round(state.steer.engine_rpm, 0),
        "on_ground": state.steer.on_ground != 0.0,
        "seed": state.seed,
        "utc": first.utc,
    }
    for each in instruments().values():
        fields |= each.start_fields(state)
    defaults = msgspec.structs.asdict(Start())
    return {name: value for name, value in fields.items() if defaults[name] != value}


def _orders(state: BenchState) -> list[Fields]:
    steer = state.steer
    by_hand = [each.order_fields(state) for each in instruments().values()]
    first, last = ([order for orders in by_hand for order in orders[which]] for which in (0, 1))
    turn = round(steer.turn_to / DEG, 2)
    to_go = abs(wrapped_deg((steer.turn_to - state.steered.heading_rad) / DEG))
    flown: list[tuple[bool, Fields]] = [
        (steer.turning == HEADING and to_go > 0.01, {"do": "heading", "to_deg": rose_deg(turn)}),
        (steer.turning == BANK and turn != 0.0, {"do": "bank", "to_deg": turn}),
        (steer.turning == RATE and turn != 0.0, {"do": "rate", "to_deg_s": turn}),
        (steer.pitch_rad != 0.0, {"do": "pitch", "to_deg": round(steer.pitch_rad / DEG, 2)}),
        (steer.roll_rad != 0.0, {"do": "roll", "to_deg": round(steer.roll_rad / DEG, 2)}),
        (steer.climb_mps != 0.0, {"do": "climb", "to_fpm": round(steer.climb_mps / FPM_MPS, 0)}),
        *(
            (sd_deg > 0.0 and abs(steer.bank_sd_rad - sd_deg * DEG) < 1e-9, {"do": "rough", "level": level})
            for level, sd_deg in LEVEL_BANK_SD_DEG.items()
        ),
    ]
    ghosts = ({"do": "ghost", "id": ghost.id, "on": True} for ghost in state.carried[0].believers[1:])
    return [*first, *(order for done, order in flown if done), *last, *ghosts]


def _tables() -> dict[str, Mapping[str, str | tuple[str, str]]]:
    """Tables of an aircraft's file with their words in an address, in the file's order."""
    words = {name: each.instrument.words for name, each in instruments().items()}
    words["pilot"] = {"misread": "misreading_sd_deg"}
    return {name: words[name] for name in aircraft_kind().__struct_fields__ if name in words}


def _unusual(aircraft: Aircraft) -> Fields:
    bench = msgspec.to_builtins(whole(BENCH_AIRCRAFT))
    return {
        table: {name: value for name, value in own.items() if bench[table][name] != value}
        for table, own in msgspec.to_builtins(whole(aircraft)).items()
        if isinstance(own, dict)
    }


def flown_fields(aircraft: Aircraft) -> Fields:
    """What a new bench carries of an aircraft's file: without what is as usual, and without late faults."""
    sizes = ((entry.name, size_of(entry.name, entry.given)) for entry in aircraft.fault if not entry.at_min)
    return {**_unusual(aircraft), "fault": [{"name": name, "size": size} for name, size in sizes]}


def aircraft_fields(carried: Carried) -> Fields:
    """What an aircraft carries, as `docs/instructors/aircraft.md`, without what is as usual on the bench."""
    fields = _unusual(carried.aircraft)
    fields["fault"] = [{"name": name, "size": float(size)} for name, size in fault_sizes(carried).items()]
    return {name: value for name, value in fields.items() if value}


def scene_fields(state: BenchState, first: Start) -> Fields:
    """The fields of a scene that starts as this state is.

    Args:
        state: the bench now.
        first: where it started, for the date.
    """
    fields: Fields = {
        "aircraft": aircraft_fields(state.carried[0]),
        "event": [{"at_s": 0.0, "do": order} for order in _orders(state)],
        "second": {"aircraft": aircraft_fields(state.carried[1])} if len(state.carried) > 1 else {},
    }
    return {"start": _start(state, first)} | {name: value for name, value in fields.items() if value}


VERSION = "1"
GREATEST_LENGTH = 1500

# Names in the address, and where their values stand in a scene's fields.
_START = {
    "lat": "latitude_deg",
    "lon": "longitude_deg",
    "hdg": "heading_deg",
    "kt": "speed_kt",
    "ft": "altitude_ft",
    "rpm": "engine_rpm",
    "seed": "seed",
    "ind": "indicated_deg",
}
# Words that stand for an order: its fields, and the one with the word's value ('' where it has none).
_ORDERS: dict[str, tuple[Fields, str]] = {
    "bank": ({"do": "bank"}, "to_deg"),
    "rate": ({"do": "rate"}, "to_deg_s"),
    "to": ({"do": "heading"}, "to_deg"),
    "pitch": ({"do": "pitch"}, "to_deg"),
    "roll": ({"do": "roll"}, "to_deg"),
    "climb": ({"do": "climb"}, "to_fpm"),
    "pace": ({"do": "pace"}, "factor"),
    "rough": ({"do": "rough"}, "level"),
    "ghost": ({"do": "ghost", "on": True}, "id"),
    "cage": ({"do": "cage", "on": True}, ""),
    "true": ({"do": "reference", "true": True}, ""),
}
# Fields whose value is a word.
_SAID = ("level", "id")
_SHAPE = re.compile(r"([a-z]+)(?:(-?[0-9]+(?:\.[0-9]+)?)|-([a-z][a-z0-9-]*))?")


def _number(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _word(name: str, value: str | float) -> str:
    return f"{name}-{value}" if isinstance(value, str) else f"{name}{_number(value)}"


def _order_table() -> dict[str, tuple[Fields, str]]:
    """As `_ORDERS`, with those of every instrument."""
    by_hand = [item for each in instruments().values() for item in each.order_words.items()]
    return _ORDERS | {word: ({"do": kind}, field) for word, (kind, field) in by_hand}


def _aircraft_words(fields: Fields, tail: str) -> list[str]:
    words = []
    for table, names in _tables().items():
        own = fields.get(table, {})
        for word, key in names.items():
            value = own.get(key if isinstance(key, str) else key[0])
            if not isinstance(key, str):
                words += [f"{word}{tail}"] if value == key[1] else []
            elif value is not None:
                words.append(_word(word + tail, value))
    return words + [_word(entry["name"] + tail, entry["size"]) for entry in fields.get("fault", [])]


def _order_words(order: Fields) -> list[str]:
    return [
        _word(word, order[field]) if field else word
        for word, (given, field) in _order_table().items()
        if order["do"] == given["do"] and (not field or field in order)
    ]


def address_of(fields: Fields, pace: float = 1.0) -> str:
    """The text of a state from the fields of a scene that starts so (`snapshot.scene_fields`)."""
    start = fields.get("start", {})
    words = [VERSION, *(_word(word, start[name]) for word, name in _START.items() if name in start)]
    if start.get("on_ground"):
        words.append("ground")
    if "utc" in start:
        words.append(f"day{start['utc']:%Y%m%d}")
    words += _aircraft_words(fields.get("aircraft", {}), "")
    if "second" in fields:
        words.append("second")
        words += _aircraft_words(fields["second"]["aircraft"], "x")
    for event in fields.get("event", []):
        words += _order_words(event["do"])
    if pace != 1.0:
        words.append(_word("pace", pace))
    return "_".join(words)


def _refused(word: str, right: str) -> InputError:
    return InputError("state", f"'{word[:40]}' is not a part of a state's address", right)


def _needed(number: float, word: str) -> float:
    if math.isnan(number):
        raise _refused(word, "a number after the name")
    return number


def _put_aircraft(aircraft: Fields, name: str, number: float, text: str, word: str) -> bool:
    for table, words in _tables().items():
        key = words.get(name)
        if key is None:
            continue
        own = aircraft.setdefault(table, {})
        if not isinstance(key, str):
            own[key[0]] = key[1]
        elif isinstance(getattr(getattr(aircraft_kind()(), table), key), str):
            own[key] = text
        else:
            own[key] = _needed(number, word)
        return True
    if name in FAULTS:
        aircraft.setdefault("fault", []).append({"name": name, "size": _needed(number, word)})
    return name in FAULTS


def _day(number: float, word: str) -> date:
    digits = f"{_needed(number, word):.0f}"
    try:
        return date.fromisoformat(digits)
    except ValueError:
        raise _refused(word, "a date, as day20260701") from None


def _put(fields: Fields, name: str, number: float, text: str, word: str) -> bool:
    start, orders = fields["start"], fields["event"]
    if name in _START:
        given = _needed(number, word)
        start[_START[name]] = int(given) if name == "seed" and given.is_integer() else given
    elif name == "ground":
        start["on_ground"] = True
    elif name == "day":
        start["utc"] = _day(number, word)
    elif name in (table := _order_table()):
        order, field = table[name]
        value = text if field in _SAID else _needed(number, word) if field else None
        orders.append({"at_s": 0.0, "do": order | ({field: value} if field else {})})
    elif name == "second":
        fields["second"] = {"aircraft": {}}
    else:
        return False
    return True


def _names() -> list[str]:
    aircraft = [word for words in _tables().values() for word in words]
    return [*_START, *_order_table(), *aircraft, *FAULTS, "ground", "day", "second"]


def scene_at(text: str) -> Scene:
    """The scene that a state's address stands for.

    Raises:
        InputError: an address of another version, too long, or with a part that is not known or not right.
    """
    if len(text) > GREATEST_LENGTH:
        raise InputError("state", f"{len(text)} characters are too many", f"at most {GREATEST_LENGTH}")
    version, _, rest = text.partition("_")
    if version != VERSION:
        raise InputError(
            "state", f"'{version[:20]}' is not a version of an address", f"an address begins with {VERSION}_"
        )
    fields: Fields = {"id": "bench", "title": "The bench", "start": {}, "aircraft": {}, "event": []}
    for word in rest.split("_") if rest else []:
        found = _SHAPE.fullmatch(word)
        if found is None:
            raise _refused(word, "a name with its value, as lat45 or rough-light")
        name, digits, said = found[1], found[2], found[3] or ""
        number = float(digits) if digits else math.nan
        second = fields.get("second")
        if not (
            _put(fields, name, number, said, word)
            or _put_aircraft(fields["aircraft"], name, number, said, word)
            or (
                second is not None
                and name.endswith("x")
                and _put_aircraft(second["aircraft"], name[:-1], number, said, word)
            )
        ):
            raise _refused(word, nearest_of(name, _names()))
    return scene_of("state", fields)


def fitted_address(address: str, aircraft: Fields, *, replaced: bool) -> str:
    """An address with what an aircraft carries, as `flown_fields`.

    Args:
        address: of a state; any other text is left as it is.
        aircraft: what it carries.
        replaced: whether the instruments and faults of the address are left out; if not, one that has some is
            left as it is.
    """
    version, _, rest = address.partition("_")
    if version != VERSION:
        return address
    words, kept = rest.split("_") if rest else [], []
    for word in words:
        found = _SHAPE.fullmatch(word)
        number = float(found[2]) if found and found[2] else math.nan
        try:
            own = found is not None and _put_aircraft({}, found[1], number, found[3] or "", word)
        except InputError:
            own = False
        if not own:
            kept.append(word)
    if len(kept) < len(words) and not replaced:
        return address
    return "_".join([version, *_aircraft_words(aircraft, ""), *kept])


def carried_by(where: str, name: str, aircraft: Crafts) -> Fields:
    """What an aircraft of the school carries.

    Raises:
        InputError: there is none of that name; says which there are.
    """
    known = {**aircraft, HEALTHY: {}}
    found = next((fields for one, fields in known.items() if one.casefold() == name.casefold()), None)
    if found is None:
        raise InputError(where, f"there is no aircraft '{name[:60]}'", f"there are: {', '.join(known)}")
    return found


def carrying(source: str, fields: Fields, aircraft: Crafts) -> Fields:
    """The fields of a scene, with what an aircraft carries where they give its name.

    Raises:
        FieldError: there is no such aircraft.
    """
    made = {**fields}
    for path in (("aircraft",), ("second", "aircraft")):
        holder = made if len(path) == 1 else made.get("second")
        if isinstance(holder, dict) and isinstance(name := holder.get("aircraft"), str):
            with within(*path):
                carried = carried_by(f"{source}, {'.'.join(path)}", name, aircraft)
            made |= {path[0]: carried if holder is made else {**holder, "aircraft": carried}}
    return made
