"""`lubberline fly`: a flight past its heading indicator, its error by cause; `ideas` to fly it with."""

import argparse
import sys
from typing import Any

from lubberline.commands.home import aircraft_called, home_in_use
from lubberline.commands.options import AIRCRAFT, Command, flag, number, option, out, seed, whole

# The engine's own limit; importing it here would bring in the compiler for `--help`.
GREATEST_MEMBERS = 100_000


def run(given: argparse.Namespace) -> None:
    """Fly it, print the result, write the files."""
    from lubberline.publish.reports.tables import write_all
    from lubberline.simulation.flying import fly

    settings = {
        "seed": given.seed,
        "set_every_min": given.set_every,
        "set_from": given.set_from,
        "true_reference": given.true_reference,
        "wind": given.wind,
        "faults": given.fault,
    }
    aircraft = aircraft_called(given.aircraft)
    flown = fly(given.flight, aircraft, believe=given.believe, **settings)
    print_summary(flown.summary)
    ensemble = _ensemble(given, aircraft, settings) if given.ensemble is not None else None
    if given.out:
        progress = given.progress.stage("Writing the files")
        written = write_all(flown, given.out, ensemble=ensemble, home=home_in_use().home, progress=progress)
        for path in written:
            print(f"wrote {path}")


def _ensemble(given: argparse.Namespace, aircraft: Any, settings: dict[str, Any]) -> Any:
    from lubberline.simulation.flying import fly_ensemble, prepare_flight

    panel, actions = prepare_flight(given.flight, aircraft, **settings)
    progress = given.progress.stage("Flying the ensemble")
    ensemble = fly_ensemble(panel, actions, given.ensemble, seed=given.seed, progress=progress)
    columns = ensemble.columns
    low, middle, high = (columns[f"error_p{share}_deg"][-1] for share in ("05", "50", "95"))
    print(
        f"\nOf {given.ensemble} such instruments and pilots, 90% end with an error between "
        f"{low:+.1f} and {high:+.1f} deg, "
        f"half below {middle:+.1f}."
    )
    return columns


def _interval_words(found: dict[str, Any]) -> str:
    if found["shortest"] is None:
        return "not in this flight"
    median = "longer than the flight" if found["median"] is None else f"{found['median']:.1f} min"
    return f"{found['shortest']:.1f} min at the earliest, median {median}"


def print_summary(summary: dict[str, Any]) -> None:
    """The short table and the sentence."""
    from lubberline.simulation.flown import cause_name

    print(f"{summary['title']} with {summary['aircraft']}: {summary['duration_min']:.0f} min,")
    print(f"errors against {summary['reference']} heading, field by {summary['field_model']}\n")
    drift = summary["drift_deg_15min"]
    print("  drift by cause            deg in 15 min")
    for name in drift:
        if name == "total_deg" or abs(drift[name]) >= 0.005:
            print(f"  {cause_name(name):<29} {drift[name]:>+8.2f}")
    print(f"\n  exceeds 3 deg after    {_interval_words(summary['interval_3deg_min'])}")
    print(f"  exceeds 5 deg after    {_interval_words(summary['interval_5deg_min'])}")
    print(f"  error at the end       {summary['error_at_end_deg']:+.1f} deg")
    print(f"  greatest error         {summary['worst_error_deg']:+.1f} deg\n")
    print(summary["sentence"])
    for note in summary["notes"]:
        print(f"Note: {note}")
    for share, words in (
        ("sparse_share", "has fixes too far apart to show a turn"),
        ("slow_share", "is below 20 kt over the ground"),
    ):
        if summary[share] > 0.0:
            print(f"Note: {summary[share]:.1%} of the flight {words}.")
    for warning in summary["warnings"]:
        print(f"Warning: {warning}", file=sys.stderr)
    print(f"\n{' '.join(summary['cautions'])}")


def list_ideas(_: argparse.Namespace) -> None:
    """The wrong ideas with which a flight can be flown."""
    from lubberline.simulation.misconceptions import FLOWN

    for idea in FLOWN:
        print(f'{idea.id}\n    "{idea.statement}"\n    {idea.mend}')


IDEAS = Command("ideas", "list the wrong ideas that --believe knows", list_ideas, "Listing")
FLY = Command(
    "fly",
    "fly a legs file or a recorded track",
    run,
    "Flying",
    (
        option("flight", metavar="FLIGHT", help="legs file (TOML) or track (GPX, IGC, CSV)"),
        AIRCRAFT,
        option("--seed", type=seed, default=0, metavar="N", help="decides everything random"),
        option("--ensemble", type=whole(1, GREATEST_MEMBERS), metavar="N", help="also fly it with N seeds"),
        flag("--true-reference", "errors and settings are to true heading"),
        option(
            "--set-every",
            type=number(0.5, 1440.0, "minutes"),
            metavar="MIN",
            help="minutes between settings",
        ),
        option("--set-from", choices=("compass", "truth"), help="what it is set to"),
        option("--wind", metavar="DIR/KT", help="true direction it blows from, and speed in knots"),
        option("--fault", action="append", default=[], metavar="NAME[=SIZE]@MIN", help="repeatable"),
        option(
            "--believe",
            action="append",
            default=[],
            metavar="ID",
            help="id of a wrong idea (see 'lubberline ideas'); repeatable",
        ),
        out("folder for trace, ledger, summary, figure and report", required=False),
    ),
)
