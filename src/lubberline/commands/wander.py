"""`lubberline wander`: apparent and transport wander, the quick calculation for a blackboard."""

import argparse

from lubberline.commands.options import Command, number, option


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


WANDER = Command(
    "wander",
    "compute wander for the blackboard",
    run,
    "Computing the rates",
    (
        option(
            "--latitude",
            type=number(-89.9, 89.9, "degrees"),
            required=True,
            metavar="DEG",
            help="north positive",
        ),
        option("--groundspeed", type=number(0.0, 700.0, "kt"), default=0.0, metavar="KT"),
        option(
            "--track",
            type=number(0.0, 360.0, "degrees"),
            default=90.0,
            metavar="DEG",
            help="true track; default: east",
        ),
        option(
            "--minutes",
            type=number(0.0, 1440.0, "minutes", above_low=True),
            default=15.0,
            metavar="MIN",
        ),
    ),
)
