"""Scenes at a school's home: those of the program that can be flown anywhere, and one of home's own.

A scene flown elsewhere than where it was written for claims nothing, and its first caption says so. The
numbers of 'Fifteen minutes at home' are computed from the latitude of home.
"""

import math
import re
from typing import Any

import msgspec

from lubberline.flight.home import Home
from lubberline.simulation.live.scene import Scene, scene_of
from lubberline.units import DEG, EARTH_RATE_RAD_S

FIFTEEN = "fifteen_minutes_home"
FIFTEEN_LIKE = "fifteen_minutes_45n"
# Before the id of a scene that is flown at home; no file's name begins so.
AT_HOME = "~~"
LEAST_DRIFT_DEG = 0.1
ALLOWED_DEG = 0.05
_DEG_H = EARTH_RATE_RAD_S / DEG * 3600.0
# Words of a text that holds at some latitudes only.
_PLACED = re.compile(r"\b(equator|poles?|hemisphere|latitudes?|\d+ (north|south))\b", re.IGNORECASE)


def is_anywhere(scene: Scene) -> bool:
    """Whether what a scene says does not depend on the latitude, and it stays where it begins."""
    entry = scene.entry
    texts = (entry.title, entry.aim, entry.watch, entry.ask, *(event.caption for event in entry.event))
    moves = any(event.do and event.do.get("do") == "place" for event in entry.event)
    return not (entry.step or moves or _PLACED.search(" ".join(texts)))


def at_home(scene: Scene, home: Home) -> Scene:
    """A scene that can be flown anywhere, begun at home; it claims nothing there."""
    entry = scene.entry
    note = f"Flown at {home.place}: the captions and their numbers were written for another place."
    fields = _begun(scene, home)
    first = min((event for event in entry.event if event.caption), key=lambda event: event.at_s, default=None)
    for event, written in zip(fields["event"], entry.event, strict=True):
        if written is first:
            event["caption"] = f"{note} {written.caption}"
    if first is None:
        fields["event"].insert(0, {"at_s": 0.0, "caption": note})
    title = f"{entry.title}, at {home.place}"
    return scene_of("scene at home", {**fields, "title": title, "claim": []})


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
