"""Scenes at a school's home: those of the program that can be flown anywhere, and one of home's own.

A scene whose words name no place begins at home, and what it claims holds there. The numbers of 'Fifteen
minutes at home' are computed from the latitude of home.
"""

import math
import re
from datetime import UTC, datetime, time
from typing import Any

import msgspec

from lubberline.earth.magnetic import field_at
from lubberline.flight.home import Home
from lubberline.flight.motion import decimal_year_of
from lubberline.simulation.live.scene import Scene, scene_of
from lubberline.simulation.live.state import Start
from lubberline.units import DEG, EARTH_RATE_RAD_S, FT_M

FIFTEEN = "fifteen_minutes_home"
FIFTEEN_LIKE = "fifteen_minutes_45n"
LEAST_DRIFT_DEG = 0.1
ALLOWED_DEG = 0.05
_DEG_H = EARTH_RATE_RAD_S / DEG * 3600.0
# Words of a text that holds at some latitudes only.
_PLACED = re.compile(r"\b(equator|poles?|hemisphere|latitudes?|\d+ (north|south))\b", re.IGNORECASE)


def is_anywhere(scene: Scene) -> bool:
    """Whether what a scene says does not depend on the latitude, and it stays where it begins."""
    moves = any(event.do and event.do.get("do") == "place" for event in scene.entry.event)
    return not (moves or _PLACED.search(_texts(scene)))


def _texts(scene: Scene) -> str:
    entry = scene.entry
    captions = [event.caption for event in entry.event]
    return " ".join(
        [entry.title, entry.aim, entry.watch, entry.ask, *captions, *(one.say for one in entry.step)]
    )


def at_home(scene: Scene, home: Home) -> Scene:
    """A scene that can be flown anywhere, begun at home; where it speaks of magnetic headings, on those."""
    fields = _begun(scene, home)
    if "magnetic" in _texts(scene):
        first = scene.entry.start
        day = datetime.combine(first.utc, time(12), tzinfo=UTC)
        here_deg, there_deg = (
            field_at(start.latitude_deg, start.longitude_deg, start.altitude_ft * FT_M, decimal_year_of(day))
            for start in (msgspec.convert(fields["start"], Start), first)
        )
        by_deg = here_deg.variation_deg - there_deg.variation_deg
        fields["start"]["heading_deg"] = round(first.heading_deg + by_deg, 2) % 360.0
        for event in fields["event"]:
            if event.get("do", {}).get("do") == "heading":
                event["do"] = {**event["do"], "to_deg": round(event["do"]["to_deg"] + by_deg, 2) % 360.0}
    fields["step"] = [_step_at(step, home) for step in fields["step"]]
    return scene_of(f"{scene.entry.id}.toml", fields)


# What a step of a tour says of a quarter of an hour without setting the card.
_DRIFTED = re.compile(r"reads [\d.]+ degrees (?:low|high)(?=: the Earth)")


def _step_at(step: dict[str, Any], home: Home) -> dict[str, Any]:
    """A step of a tour at home: only how far the card drifts differs there."""
    if not _DRIFTED.search(step["say"]):
        return step
    drift_deg = -_DEG_H * math.sin(home.latitude_deg * DEG) * 0.25
    size, way = abs(drift_deg), "high" if drift_deg > 0.0 else "low"
    said = (
        f"reads {size:.1f} degrees {way}"
        if size >= LEAST_DRIFT_DEG
        else "is right within a tenth of a degree"
    )
    bounds = {"low": round(drift_deg - ALLOWED_DEG, 3), "high": round(drift_deg + ALLOWED_DEG, 3)}
    claims = [
        {**one, **bounds} if one["name"] in ("shown.error_deg", "ledger.earth_deg") else one
        for one in step["claim"]
    ]
    return {**step, "say": _DRIFTED.sub(said, step["say"]), "claim": claims}


def fifteen_minutes(scene: Scene, home: Home) -> dict[str, Any]:
    """The fields of 'Fifteen minutes at home', by those of the same flight elsewhere.

    The drift is 15.04 degrees an hour times the sine of the latitude in the middle of the flight north.
    """
    fields = _begun(scene, home)
    hours = fields["length_s"] / 3600.0
    middle_deg = home.latitude_deg + 0.5 * hours * fields["start"]["speed_kt"] / 60.0
    drift_deg = -_DEG_H * math.sin(middle_deg * DEG) * hours
    rate_deg_h = -_DEG_H * math.sin((2.0 * middle_deg - home.latitude_deg) * DEG)
    size = abs(drift_deg)
    way = "high" if drift_deg > 0.0 else "low"
    where = f"at {home.place}, {home.position}"
    ends = (
        "The card is still right within a tenth of a degree: so near the equator there is hardly any wander."
        if size < LEAST_DRIFT_DEG
        else f"The card reads {size:.1f} degrees {way}, and drifts {way} at {abs(rate_deg_h):.1f} degrees "
        "an hour. The wrong idea still reads 0."
    )
    captions = {0.0: f"Set correctly to true north {where}. 15 minutes begin, time at x20.", 890.0: ends}
    for event in fields["event"]:
        if event.get("caption"):
            event["caption"] = captions.get(event["at_s"], event["caption"])
    claims = {
        "shown.error_deg": (drift_deg, ALLOWED_DEG),
        "ledger.earth_deg": (drift_deg, ALLOWED_DEG),
        "rates.earth_deg_h": (rate_deg_h, 2.0 * ALLOWED_DEG),
    }
    return {
        **fields,
        "id": FIFTEEN,
        "title": "Fifteen minutes at home",
        "aim": "A perfect gyro keeps its direction in space while the Earth turns: 15 degrees an hour times "
        f"the sine of the latitude, {where}.",
        "unclaimed": [where],
        "claim": [
            {"at_s": 900.0, "name": name, "low": round(value - allowed, 3), "high": round(value + allowed, 3)}
            for name, (value, allowed) in claims.items()
        ],
    }


def _begun(scene: Scene, home: Home) -> dict[str, Any]:
    """The fields of a scene that begins at home, at its own height."""
    fields: dict[str, Any] = _given(msgspec.to_builtins(scene.entry))
    fields["event"] = [_given(event) for event in fields["event"]]
    start = {"latitude_deg": round(home.latitude_deg, 2), "longitude_deg": round(home.longitude_deg, 2)}
    return {**fields, "start": {**_given(fields["start"]), **start}}


def _given(fields: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in fields.items() if value is not None}
