"""The command line: `lubberline fly`, `lubberline wander`, `lubberline ask`, `lubberline open`.

Heavy modules are imported inside the commands, so that help and errors come at once.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from lubberline import __version__
from lubberline.commands import course, demo_class, judge, lesson, plan, records, statistics, swing
from lubberline.errors import InputError

if TYPE_CHECKING:
    from lubberline.questions.handwritten import Written
    from lubberline.questions.paper import Paper
    from lubberline.simulation.flown import Flown

CAUSES = (
    ("earth_deg", "Earth's turning"),
    ("travel_deg", "journey"),
    ("friction_deg", "friction, unbalance"),
    ("balance_deg", "latitude balance"),
    ("levelling_deg", "levelling"),
    ("tumble_deg", "tumble"),
    ("variation_change_deg", "change of variation"),
    ("total_deg", "together"),
)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="lubberline",
        description="Fly a flight past its heading indicator and account for every degree of error. "
        "For teaching only.",
    )
    parser.add_argument("--version", action="version", version=f"lubberline {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    fly = commands.add_parser("fly", help="fly a legs file or a recorded track")
    fly.add_argument("flight", metavar="FLIGHT", help="legs file (TOML) or track (GPX, IGC, CSV)")
    fly.add_argument("--aircraft", metavar="FILE", help="aircraft file (TOML); healthy without it")
    fly.add_argument("--seed", type=int, default=0, metavar="N", help="decides all that is random")
    fly.add_argument("--ensemble", type=int, metavar="N", help="fly it with N seeds as well")
    fly.add_argument("--true-reference", action="store_true", help="errors and settings are to true")
    fly.add_argument("--set-every", type=float, metavar="MIN", help="set it every so many minutes")
    fly.add_argument("--set-from", choices=("compass", "truth"), help="what it is set from")
    fly.add_argument("--wind", metavar="DIR/KT", help="true direction it blows from, and knots")
    fly.add_argument("--fault", action="append", default=[], metavar="NAME[=SIZE]@MIN", help="repeatable")
    fly.add_argument("--believe", action="append", default=[], metavar="ID", help="a wrong idea; repeatable")
    fly.add_argument("--out", metavar="DIR", help="write trace, ledger, summary, figure and report there")

    wander = commands.add_parser("wander", help="the quick sum for a blackboard")
    wander.add_argument("--latitude", type=float, required=True, metavar="DEG", help="north positive")
    wander.add_argument("--groundspeed", type=float, default=0.0, metavar="KT")
    wander.add_argument("--track", type=float, default=90.0, metavar="DEG", help="true; east without it")
    wander.add_argument("--minutes", type=float, default=15.0, metavar="MIN")

    ask = commands.add_parser("ask", help="question papers with keys, for print and for learning systems")
    asked = ask.add_mutually_exclusive_group(required=True)
    asked.add_argument("--blueprint", metavar="FILE", help="what to ask (TOML)")
    asked.add_argument("--locked", metavar="FILE", help="print locked papers again, as they are")
    ask.add_argument("--seed", type=int, metavar="N", help="decides every question; 0 without")
    ask.add_argument("--forms", metavar="A,B", help="letters of the parallel papers; the blueprint's without")
    ask.add_argument("--out", required=True, metavar="DIR", help="papers, keys, packages, table go there")
    ask.add_argument("--large-print", action="store_true", help="papers in large print as well")
    ask.add_argument("--worksheet", action="store_true", help="a worksheet with blank dials as well")
    ask.add_argument("--jurisdiction", metavar="XX", help="whose rules; the blueprint's without")
    ask.add_argument("--items", metavar="FILE", help="questions written by hand (Markdown)")
    ask.add_argument("--words", metavar="FILE", help="other words for models (TOML)")
    ask.add_argument("--retired", metavar="FILE", help="models and questions not to be asked (TOML)")
    ask.add_argument("--lock", metavar="FILE", help="keep the papers there, to print them again")
    ask.add_argument("--check-qti", metavar="DIR", help="check the packages against the schema files there")

    page = commands.add_parser("open", help="start the page on this machine")
    page.add_argument("--port", type=int, default=8765, metavar="N", help="the next free one if taken")
    page.add_argument("--no-open", action="store_true", help="do not open the browser")
    page.add_argument("--lan", action="store_true", help="students of the local network may join")
    page.add_argument("--behind", default="", metavar="URL", help="an HTTPS proxy stands before it")
    page.add_argument("--passphrase", action="store_true", help="set the instructor's passphrase first")
    page.add_argument("--no-passphrase", action="store_true", help="take the passphrase away, first")

    commands.add_parser("ideas", help="list the wrong ideas that --believe knows")
    for module in MODULES.values():
        module.add(commands)
    return parser


def _interval_words(found: dict[str, Any]) -> str:
    if found["shortest"] is None:
        return "not in this flight"
    median = "longer than the flight" if found["median"] is None else f"{found['median']:.1f} min"
    return f"{found['shortest']:.1f} min at the shortest, median {median}"


def print_summary(summary: dict[str, Any]) -> None:
    """The short table that a pilot can read, and the sentence."""
    print(f"{summary['title']} with {summary['aircraft']}: {summary['duration_min']:.0f} min,")
    print(f"errors against {summary['reference']} heading, field by {summary['field_model']}\n")
    drift = summary["drift_deg_15min"]
    print("  drift by cause          deg per 15 min")
    for name, words in CAUSES:
        if name == "total_deg" or abs(drift[name]) >= 0.005:
            print(f"  {words:<22} {drift[name]:>+15.2f}")
    print(f"\n  passes 3 deg after     {_interval_words(summary['interval_3deg_min'])}")
    print(f"  passes 5 deg after     {_interval_words(summary['interval_5deg_min'])}")
    print(f"  error at the end       {summary['error_at_end_deg']:+.1f} deg")
    print(f"  greatest error         {summary['worst_error_deg']:+.1f} deg\n")
    print(summary["sentence"])
    for note in summary["notes"]:
        print(f"Note: {note}")
    for share, words in (
        ("sparse_share", "has fixes too far apart to show a turn"),
        ("slow_share", "is under 20 kt over the ground"),
    ):
        if summary[share] > 0.0:
            print(f"Note: {summary[share]:.1%} of the flight {words}.")
    for warning in summary["warnings"]:
        print(f"Warning: {warning}", file=sys.stderr)
    print(f"\n{' '.join(summary['cautions'])}")


def _bar(done: int, members: int) -> None:
    if done == members or done % max(1, members // 100) == 0:
        filled = round(30 * done / members)
        line = f"\r[{'#' * filled}{'.' * (30 - filled)}] {done} of {members}"
        print(line, end="\n" if done == members else "", file=sys.stderr, flush=True)


def _fly(given: argparse.Namespace) -> None:
    from lubberline.compiled import is_first_run

    if is_first_run():
        print("First flight after installing: compiling, about a minute, once.", file=sys.stderr, flush=True)
    from lubberline.simulation.flying import fly

    settings = {
        "seed": given.seed,
        "set_every_min": given.set_every,
        "set_from": given.set_from,
        "true_reference": given.true_reference,
        "wind": given.wind,
        "faults": given.fault,
    }
    flown = fly(given.flight, given.aircraft, believe=given.believe, **settings)
    print_summary(flown.summary)
    ensemble = _ensemble(given, settings) if given.ensemble is not None else None
    if given.out:
        _write(flown, given.out, ensemble)


def _ensemble(given: argparse.Namespace, settings: dict[str, Any]) -> Any:
    from lubberline.simulation.ensemble import fly_ensemble
    from lubberline.simulation.flying import prepare_flight

    panel, actions = prepare_flight(given.flight, given.aircraft, **settings)
    ensemble = fly_ensemble(panel, actions, given.ensemble, seed=given.seed, progress=_bar)
    columns = ensemble.columns
    low, middle, high = (columns[f"error_p{share}_deg"][-1] for share in ("05", "50", "95"))
    print(
        f"\nOf {given.ensemble} such instruments and pilots, 90% end between {low:+.1f} and {high:+.1f} deg, "
        f"half below {middle:+.1f}."
    )
    return columns


def _write(flown: Flown, folder: str, ensemble: Any) -> None:
    from lubberline.publish.tables import write_all

    for path in write_all(flown, folder, ensemble=ensemble):
        print(f"wrote {path}")


def _wander(given: argparse.Namespace) -> None:
    import math

    from lubberline.simulation.wander import wander

    if not (math.isfinite(given.minutes) and 0.0 < given.minutes <= 1440.0):
        raise InputError("--minutes", f"{given.minutes:g} is out of range", "give up to 1440 minutes")
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


def _papers(given: argparse.Namespace) -> tuple[tuple[Paper, ...], list[str]]:
    """The papers that are asked for, made or locked, and what there is to say about questions by hand."""
    from lubberline.questions.assemble import assemble
    from lubberline.questions.blueprint import read_blueprint
    from lubberline.questions.handwritten import read_items
    from lubberline.questions.locked import check_new, read_locked
    from lubberline.questions.retired import read_retired
    from lubberline.questions.wording import read_words

    if given.locked:
        for name in ("seed", "forms", "jurisdiction", "items", "words", "retired", "lock"):
            if getattr(given, name) is not None:
                raise InputError(f"--{name}", "locked papers are not made again", "leave it out")
        return read_locked(given.locked), []
    if given.lock:
        check_new(given.lock)
    blueprint = read_blueprint(given.blueprint, given.jurisdiction)
    own = read_items(given.items) if given.items else ()
    papers = assemble(
        blueprint,
        given.seed or 0,
        [form.strip() for form in given.forms.split(",")] if given.forms is not None else (),
        own=[record.item for record in own],
        changed=read_words(given.words) if given.words else None,
        retired=read_retired(given.retired) if given.retired else None,
    )
    return papers, _said_of_own(given.items, own, papers)


def _said_of_own(file: str, own: Sequence[Written], papers: Sequence[Paper]) -> list[str]:
    """Advice on questions written by hand and on papers that hold them, and a note on those left out."""
    from lubberline.questions.advice import advice_on, advice_on_paper

    if not own:
        return []
    told = [
        f"Advice: {file}, line {record.line}, {advice.where}: {advice.words}."
        for record in own
        for advice in advice_on(record.item)
    ]
    for paper in papers:
        told += [
            f"Advice: paper {paper.form}, {advice.where}: {advice.words}."
            for advice in advice_on_paper(paper.items)
        ]
    used = {item.id for paper in papers for item in paper.items}
    left = [record for record in own if record.item.id not in used]
    return [
        *told,
        *(f"Note: {file}, line {record.line}: '{record.title}' is on no paper." for record in left),
    ]


def _ask(given: argparse.Namespace) -> None:
    from lubberline.publish.papers import check_packages, left_from_before, write_papers
    from lubberline.publish.qti_schema import Schemas
    from lubberline.questions.locked import write_locked

    schemas = Schemas(given.check_qti) if given.check_qti else None
    papers, told = _papers(given)
    checked = check_packages(papers, schemas) if schemas else []
    written = write_papers(papers, given.out, large_print=given.large_print, worksheet=given.worksheet)
    if given.lock:
        write_locked(papers, given.lock)
    title, seed = papers[0].title, papers[0].seed
    print(f"{title}, seed {seed}: {len(papers[0].items)} questions in each paper\n")
    print(f"{'paper':>7}{'numbers':>9}{'choices':>9}{'drawings':>10}{'expected difficulty':>21}")
    for paper in papers:
        numbers = sum(item.kind == "number" for item in paper.items)
        drawings = sum(item.figure is not None for item in paper.items)
        choices = len(paper.items) - numbers
        print(f"{paper.form:>7}{numbers:>9}{choices:>9}{drawings:>10}{paper.difficulty:>21.2f}")
    print()
    locked = [f"wrote {given.lock}"] if given.lock else []
    for line in [*told, *checked, *(f"wrote {path}" for path in written), *locked]:
        print(line)
    for name in left_from_before(given.out, written):
        print(f"Note: {name} is there from an earlier set and belongs to none of these papers.")
    print(
        "The keys, items.csv, the QTI packages and locked papers hold the answers: keep them from candidates."
    )


def _open(given: argparse.Namespace) -> None:
    from lubberline.web.serve import serve

    serve(
        port=given.port,
        open_browser=not given.no_open,
        lan=given.lan,
        behind=given.behind,
        asks_passphrase=given.passphrase,
        forgets_passphrase=given.no_passphrase,
    )


def _ideas(_: argparse.Namespace) -> None:
    from lubberline.simulation.misconceptions import FLOWN

    for idea in FLOWN:
        print(f'{idea.id}\n    "{idea.statement}"\n    {idea.mend}')


COMMANDS = {"fly": _fly, "wander": _wander, "ask": _ask, "open": _open, "ideas": _ideas}
# Commands with a module of their own.
MODULES = {
    "judge": judge,
    "swing": swing,
    "plan": plan,
    "records": records,
    "demo-class": demo_class,
    "lesson": lesson,
    "statistics": statistics,
    "course": course,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; bad input is one clear line and exit code 2."""
    given = _parser().parse_args(arguments)
    try:
        (COMMANDS.get(given.command) or MODULES[given.command].run)(given)
    except InputError as error:
        print(f"lubberline: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
