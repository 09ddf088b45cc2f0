"""`lubberline wander`: apparent and transport wander, the quick sum for a blackboard."""

import argparse

from lubberline.commands.options import Command, number, option


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


WANDER = Command(
    "wander",
    "the quick sum for a blackboard",
    run,
    "Working out the rates",
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
            help="true; east without it",
        ),
        option(
            "--minutes",
            type=number(0.0, 1440.0, "minutes", above_low=True),
            default=15.0,
            metavar="MIN",
        ),
    ),
)
