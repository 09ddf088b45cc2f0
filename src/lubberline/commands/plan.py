"""`lubberline plan`: a flight planned for its heading indicator."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from lubberline.commands import terminal
from lubberline.commands.home import HOME_OPTION, aircraft_called, home_in_use
from lubberline.commands.options import AIRCRAFT, Command, day, flag, number, option, out

if TYPE_CHECKING:
    from lubberline.flight.home import Home


def run(given: argparse.Namespace) -> None:
    """Plan it, print the result, write the files."""
    import msgspec

    from lubberline.publish.folder import write_together
    from lubberline.publish.reports.kneeboard import kneeboard_pdf, plan_svg
    from lubberline.simulation import CAUTIONS
    from lubberline.upkeep.judge import judge
    from lubberline.upkeep.log import doubt_whose, read_log
    from lubberline.upkeep.planning import own_wander_from, plan_of
    from lubberline.upkeep.routes import parse_day, read_route

    home, notes = home_in_use(given.home)
    aircraft = aircraft_called(given.aircraft or home.aircraft)
    motion = read_route(
        given.route,
        parse_day(given.date) if given.date else None,
        airspeed_kt=given.kt,
        altitude_ft=given.altitude,
        wind=given.wind,
        home=home,
    )
    wander = None
    if given.log:
        log = read_log(given.log, aircraft.name if given.aircraft else "")
        wander = own_wander_from(judge(log, aircraft).estimate, aircraft)
        doubt = doubt_whose(log, given.log, given.aircraft, aircraft.name) if given.aircraft else ""
        if doubt:
            print(f"Warning: {doubt}", file=sys.stderr)
    plan = plan_of(motion, aircraft, wander, given.limit, true_reference=given.true_reference)
    _say(plan, home)
    told = msgspec.json.format(
        msgspec.json.encode({**msgspec.to_builtins(plan), "cautions": CAUTIONS}), indent=1
    )
    written = write_together(
        {
            "plan.json": lambda: told + b"\n",
            "figure.svg": lambda: plan_svg(plan, theme="auto").encode(),
            "kneeboard.pdf": lambda: kneeboard_pdf(plan, home),
        },
        given.out,
        progress=given.progress.stage("Writing the files"),
    )
    terminal.say_written(written, (*notes, *CAUTIONS))


def _say(plan: Any, home: Home) -> None:
    from lubberline.publish.reports.kneeboard import ZONES, clock, heading, plan_sentences

    print(f"{plan.title} with {plan.aircraft}, {home.day(plan.start_utc)}, set to {plan.reference} north\n")
    for sentence in plan_sentences(plan):
        print(sentence.replace("°", " deg").replace("−", "-"))
    print(f"\n{'leg':>4}{'from':>7}{'to':>7}{'true':>6}{'mag':>6}{'steer':>7}{'drift deg':>16}  compass")
    for leg in plan.legs:
        angles = (heading(leg.true_deg), heading(leg.magnetic_deg), heading(leg.steer_deg))
        drift = f"{leg.drift_deg['total']:+.1f} +/- {1.96 * leg.sd_deg:.1f}"
        print(
            f"{leg.number:>4}{clock(leg.begin_min):>7}{clock(leg.end_min):>7}"
            f"{angles[0]:>6}{angles[1]:>6}{angles[2]:>7}{drift:>16}  {ZONES[leg.zone] or 'good'}"
        )
    times = ", ".join(
        f"{clock(setting.at_min)}{' (late)' if not setting.kept else ''}" for setting in plan.settings
    )
    print(f"\nSet it at {times} of the flight.")
    for note in (*plan.about, *plan.notes):
        print(f"Note: {note}")
    print()


PLAN = Command(
    "plan",
    "plan a flight: expected drift, when to set it, a kneeboard card",
    run,
    "Planning",
    (
        option("route", metavar="ROUTE", help="legs file (TOML), waypoints (CSV, GPX) or recorded track"),
        AIRCRAFT,
        HOME_OPTION,
        option("--log", metavar="LOG.csv", help="log of its heading checks, to estimate its real wander"),
        option("--date", type=day, metavar="YYYY-MM-DD", help="day of the flight; required for waypoints"),
        option(
            "--limit",
            type=number(1.0, 45.0, "degrees"),
            default=5.0,
            metavar="DEG",
            help="greatest error allowed; default 5",
        ),
        out("folder for plan.json, figure.svg and kneeboard.pdf"),
        option(
            "--kt",
            type=number(30.0, 700.0, "kt"),
            default=100.0,
            help="true airspeed for waypoints; default 100",
        ),
        option(
            "--altitude",
            type=number(0.0, 60000.0, "ft"),
            default=3000.0,
            metavar="FT",
            help="altitude for waypoints; default 3000",
        ),
        option(
            "--wind", default="", metavar="DIR/KT", help="true direction it blows from, and speed in knots"
        ),
        flag("--true-reference", "set it to true headings"),
    ),
)
