"""Legs files written by the tests, to fly through the door of the engine."""

from lubberline.flight.legs.motion import read_legs_text
from lubberline.flight.motion import Motion

HEAD = """
title = "test flight"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = {latitude_deg}
longitude_deg = {longitude_deg}
altitude_ft = 3000
heading_deg = {heading_deg}
airspeed_kt = {airspeed_kt}
seed = 7
"""


def legs(
    *entries: str,
    latitude_deg: float = 45.0,
    longitude_deg: float = 10.0,
    heading_deg: float = 90.0,
    airspeed_kt: float = 110.0,
) -> Motion:
    """A motion from short leg entries such as `kind = "straight"; minutes = 5`."""
    head = HEAD.format(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        heading_deg=heading_deg,
        airspeed_kt=airspeed_kt,
    )
    body = "".join(
        "[[leg]]\n" + "\n".join(part.strip() for part in entry.split(";")) + "\n" for entry in entries
    )
    return read_legs_text("test.toml", head + body)


STRAIGHT = 'kind = "straight"; minutes = {}'
TURN = 'kind = "turn"; by_deg = {}; bank_deg = {}'
SET = 'kind = "set"; from = "{}"'


def busy() -> Motion:
    """Turns, rough air, settings in straight flight and in a turn, an upset past the stop."""
    return legs(
        STRAIGHT.format(4),
        'kind = "rough"; level = "light"',
        TURN.format(400, 30),
        SET.format("compass") + "; misreading_deg = 2",
        STRAIGHT.format(6),
        'kind = "turn"; by_deg = 90; rate_deg_s = 3',
        'kind = "accelerate"; to_kt = 140; at_g = 0.08',
        SET.format("compass"),
        STRAIGHT.format(5),
        'kind = "rough"; level = "off"',
        'kind = "upset"; pitch_deg = 88; rate_deg_s = 15; hold_seconds = 2',
        STRAIGHT.format(4),
        latitude_deg=58.0,
        heading_deg=2.0,
    )
