"""`lubberline wander`: apparent and transport wander, the quick calculation for a blackboard."""

import argparse
from typing import Any

from lubberline.commands import options


def add(commands: Any) -> None:
    """Its options."""
    wander = commands.add_parser("wander", help="compute wander for the blackboard")
    latitude = options.number(-89.9, 89.9, "degrees")
    wander.add_argument("--latitude", type=latitude, required=True, metavar="DEG", help="north positive")
    wander.add_argument("--groundspeed", type=options.number(0.0, 700.0, "kt"), default=0.0, metavar="KT")
    track = options.number(0.0, 360.0, "degrees")
    wander.add_argument("--track", type=track, default=90.0, metavar="DEG", help="true track; default: east")
    minutes = options.number(0.0, 1440.0, "minutes", above_low=True)
    wander.add_argument("--minutes", type=minutes, default=15.0, metavar="MIN")


def run(given: argparse.Namespace) -> None:
    """Print the rates."""
    from lubberline.instruments.heading_indicator.gyro import wander

    found = wander(given.latitude, given.groundspeed, given.track)
    share = given.minutes / 60.0
    print(f"{'':28}{'deg an hour':>14}{f'deg in {given.minutes:g} min':>18}")
    for words, rate in (
        ("apparent wander (Earth rate)", found.earth_deg_h),
        ("transport wander", found.travel_deg_h),
        ("total", found.total_deg_h),
    ):
        # Adding 0.0 turns a negative zero into a positive one.
        print(f"{words:28}{rate + 0.0:>+14.3f}{rate * share + 0.0:>+18.2f}")
    print("For a perfect gyro without a latitude nut. A negative rate means that the reading decreases.")
