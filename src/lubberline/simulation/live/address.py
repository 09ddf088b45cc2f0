"""A state as a short text for an address: what differs from the bench's usual start, word by word.

`1_lat70_kt0_filter0.8_ghost-no-earth-wander`: the version first, then words joined by `_`, each a name with
its value: a number straight after it, a word after a hyphen. All signs may stand in an address as they are.
"""

from __future__ import annotations

import math
import re
from datetime import date
from typing import Any

from lubberline.errors import InputError, nearest_of
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.live.scene import Scene, scene_of

Fields = dict[str, Any]
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
_INDICATOR = {
    "balance": "balance_latitude_deg",
    "wander": "real_wander_deg_15min",
    "wandersd": "real_wander_sd_deg_15min",
    "random": "random_wander_deg_15min",
    "axis": "spin_axis_deg",
}
_DEVIATIONS = {f"dev{letter}": f"deviation_{letter}_deg" for letter in "abcde"}
_ORDERS = {
    "bank": ("bank", "to_deg"),
    "rate": ("rate", "to_deg_s"),
    "to": ("heading", "to_deg"),
    "pitch": ("pitch", "to_deg"),
    "roll": ("roll", "to_deg"),
    "climb": ("climb", "to_fpm"),
    "set": ("set", "to_deg"),
    "finger": ("finger", "torque_nm"),
    "pace": ("pace", "factor"),
}
_WORDS = {"rough": ("rough", "level"), "ghost": ("ghost", "id")}
_FLAGS = ("ground", "cage", "true", "gimbal", "instruments")
_SHAPE = re.compile(r"([a-z]+)(?:(-?[0-9]+(?:\.[0-9]+)?)|-([a-z][a-z0-9-]*))?")


def _number(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _aircraft_words(fields: Fields, tail: str) -> list[str]:
    indicator, suction = fields.get("heading_indicator", {}), fields.get("suction", {})
    words = [
        f"{word}{tail}{_number(indicator[name])}"
        for word, name in _INDICATOR.items()
        if indicator.get(name) is not None
    ]
    if indicator.get("drive"):
        words.append(f"drive{tail}-{indicator['drive']}")
    if indicator.get("setting") == "turns_gimbal":
        words.append(f"gimbal{tail}")
    if suction.get("gauge_tap") == "instruments":
        words.append(f"instruments{tail}")
    if "regulator_inhg" in suction:
        words.append(f"setting{tail}{_number(suction['regulator_inhg'])}")
    if "misreading_sd_deg" in fields.get("pilot", {}):
        words.append(f"misread{tail}{_number(fields['pilot']['misreading_sd_deg'])}")
    compass = fields.get("compass", {})
    words += [
        f"{word}{tail}{_number(compass[name])}" for word, name in _DEVIATIONS.items() if name in compass
    ]
    words += [f"{entry['name']}{tail}{_number(entry['size'])}" for entry in fields.get("fault", [])]
    return words


def _order_words(order: Fields) -> list[str]:
    for word, (kind, name) in (_ORDERS | _WORDS).items():
        if order["do"] == kind and name in order:
            value = order[name]
            return [f"{word}-{value}" if isinstance(value, str) else f"{word}{_number(value)}"]
    return {"cage": ["cage"], "reference": ["true"]}.get(order["do"], [])


def address_of(fields: Fields, pace: float = 1.0) -> str:
    """The text of a state from the fields of a scene that starts so (`snapshot.scene_fields`)."""
    start = fields.get("start", {})
    words = [VERSION]
    words += [f"{word}{_number(start[name])}" for word, name in _START.items() if name in start]
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
        words.append(f"pace{_number(pace)}")
    return "_".join(words)


def _refused(word: str, right: str) -> InputError:
    return InputError("state", f"'{word[:40]}' is no part of a state's address", right)


def _needed(number: float, word: str) -> float:
    if math.isnan(number):
        raise _refused(word, "a number after the name")
    return number


def _put_aircraft(aircraft: Fields, name: str, number: float, text: str, word: str) -> bool:
    indicator = aircraft.setdefault("heading_indicator", {})
    if name in _INDICATOR:
        indicator[_INDICATOR[name]] = _needed(number, word)
    elif name == "drive":
        indicator["drive"] = text
    elif name == "gimbal":
        indicator["setting"] = "turns_gimbal"
    elif name == "instruments":
        aircraft.setdefault("suction", {})["gauge_tap"] = "instruments"
    elif name == "setting":
        aircraft.setdefault("suction", {})["regulator_inhg"] = _needed(number, word)
    elif name == "misread":
        aircraft.setdefault("pilot", {})["misreading_sd_deg"] = _needed(number, word)
    elif name in _DEVIATIONS:
        aircraft.setdefault("compass", {})[_DEVIATIONS[name]] = _needed(number, word)
    elif name in FAULTS:
        aircraft.setdefault("fault", []).append({"name": name, "size": _needed(number, word)})
    else:
        return False
    return True


def _day(number: float, word: str) -> date:
    digits = f"{_needed(number, word):.0f}"
    try:
        return date.fromisoformat(digits)
    except ValueError:
        raise _refused(word, "a date, as day20260701") from None


def _put(fields: Fields, name: str, number: float, text: str, word: str) -> bool:
    start, orders = fields["start"], fields["event"]
    if name in _START:
        value = _needed(number, word)
        start[_START[name]] = int(value) if name == "seed" and value.is_integer() else value
    elif name == "ground":
        start["on_ground"] = True
    elif name == "day":
        start["utc"] = _day(number, word)
    elif name in _ORDERS:
        kind, field = _ORDERS[name]
        orders.append({"at_s": 0.0, "do": {"do": kind, field: _needed(number, word)}})
    elif name in _WORDS:
        kind, field = _WORDS[name]
        order: Fields = {"do": kind, field: text}
        orders.append({"at_s": 0.0, "do": order | ({"on": True} if kind == "ghost" else {})})
    elif name == "cage":
        orders.append({"at_s": 0.0, "do": {"do": "cage", "on": True}})
    elif name == "true":
        orders.append({"at_s": 0.0, "do": {"do": "reference", "true": True}})
    elif name == "second":
        fields["second"] = {"aircraft": {}}
    else:
        return False
    return True


def _names() -> list[str]:
    aircraft = [*_INDICATOR, *_DEVIATIONS, *FAULTS, "drive", "setting", "misread"]
    return [*_START, *_ORDERS, *_WORDS, *_FLAGS, *aircraft, "day", "second"]


def scene_at(text: str) -> Scene:
    """The scene that a state's address stands for.

    Raises:
        InputError: an address of another version, too long, or with a part that is not known or not right.
    """
    if len(text) > GREATEST_LENGTH:
        raise InputError("state", f"{len(text)} signs are too many", f"at most {GREATEST_LENGTH}")
    version, _, rest = text.partition("_")
    if version != VERSION:
        raise InputError(
            "state", f"'{version[:20]}' is no version of an address", f"it begins with {VERSION}_"
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
