"""`lubberline wander`: apparent and transport wander, the quick sum for a blackboard."""

import argparse
from typing import Any

from lubberline.commands import options


def add(commands: Any) -> None:
    """Its options."""
    wander = commands.add_parser("wander", help="the quick sum for a blackboard")
    latitude = options.number(-89.9, 89.9, "degrees")
    wander.add_argument("--latitude", type=latitude, required=True, metavar="DEG", help="north positive")
    wander.add_argument("--groundspeed", type=options.number(0.0, 700.0, "kt"), default=0.0, metavar="KT")
    track = options.number(0.0, 360.0, "degrees")
    wander.add_argument("--track", type=track, default=90.0, metavar="DEG", help="true; east without it")
    minutes = options.number(0.0, 1440.0, "minutes", above_low=True)
    wander.add_argument("--minutes", type=minutes, default=15.0, metavar="MIN")


def run(given: argparse.Namespace) -> None:
    """Print the rates."""
    from lubberline.instruments.heading_indicator.gyro import wander

    found = wander(given.latitude, given.groundspeed, given.track)
    share = given.minutes / 60.0
    print(f"{'':16}{'deg an hour':>14}{f'deg in {given.minutes:g} min':>18}")
    for words, rate in (
        ("Earth's turning", found.earth_deg_h),
        ("journey", found.travel_deg_h),
        ("together", found.total_deg_h),
    ):
        # Adding 0.0 turns a negative zero into a plain one.
        print(f"{words:16}{rate + 0.0:>+14.3f}{rate * share + 0.0:>+18.2f}")
    print("Of a perfect gyro without a latitude balance; a negative rate means that the card falls.")
