"""`lubberline judge`: judges a heading indicator from its log."""

import argparse
import sys
from pathlib import Path
from typing import Any

from lubberline.commands import terminal
from lubberline.commands.home import aircraft_called, home_in_use
from lubberline.commands.options import Command, option, out


def run(given: argparse.Namespace) -> None:
    """Judge it, print the result, write the files."""
    import msgspec

    from lubberline.flight.tracks.files import read_file, read_fixes
    from lubberline.publish.folder import write_together
    from lubberline.publish.reports.upkeep_report import entries_csv, trend_svg, upkeep_report_pdf
    from lubberline.upkeep.judge import judge
    from lubberline.upkeep.log import doubt_whose, join_fixes, read_log

    aircraft = aircraft_called(given.aircraft)
    log = read_log(given.log, aircraft.name)
    doubt = doubt_whose(log, given.log, given.aircraft, aircraft.name)
    if given.track:
        track = Path(given.track)
        log, covered = join_fixes(log, read_fixes(track.name, read_file(track)))
        print(f"{given.track}: covers {covered} checks\n")
    judgement = judge(log, aircraft)
    _say(judgement, log)
    told = {**msgspec.to_builtins(judgement), "refused": msgspec.to_builtins(log.refused)}
    written = write_together(
        {
            "judgement.json": lambda: msgspec.json.format(msgspec.json.encode(told), indent=1) + b"\n",
            "entries.csv": lambda: entries_csv(judgement, log),
            "figure.svg": lambda: trend_svg(judgement, log.events, theme="auto").encode("utf-8"),
            "report.pdf": lambda: upkeep_report_pdf(judgement, log, aircraft, home_in_use().home),
        },
        given.out,
        progress=given.progress.stage("Writing the files"),
    )
    if doubt:
        print(f"Warning: {doubt}", file=sys.stderr)
    terminal.say_written(written, judgement.cautions)


def _say(judgement: Any, log: Any) -> None:
    from lubberline.upkeep.records import FAULT_NAMES, VERDICT_WORDS

    estimate = judgement.estimate
    print(f"{judgement.aircraft}: {VERDICT_WORDS[judgement.verdict]}\n")
    print(judgement.sentence)
    for reason in judgement.reasons:
        print(f"- {reason}")
    print(f"\n  real wander now         {estimate.mean_deg_15min:+.1f} deg in 15 min")
    print(f"  95% interval            {estimate.low_deg_15min:+.1f} to {estimate.high_deg_15min:+.1f}")
    print(f"  beyond 3 either way     {estimate.beyond_limit:.0%}\n")
    for fit in judgement.faults:
        print(f"  {FAULT_NAMES[fit.fault]:<28}{fit.probability:>5.0%}")
    print(f"\nNext: {judgement.next_observation}")
    print(f"By rule of thumb: {judgement.rule_of_thumb}")
    for one in log.refused:
        print(f"Not taken: {one.where}: {one.wrong}; {one.right}.")
    for words in judgement.assumed:
        print(f"Assumed: {words}")
    print()


JUDGE = Command(
    "judge",
    "judge a log of heading checks: the Earth, or the instrument?",
    run,
    "Judging the log",
    (
        option("log", metavar="LOG.csv", help="heading checks; see docs/instructors/log.md"),
        option(
            "--aircraft",
            metavar="FILE",
            required=True,
            help="aircraft file (TOML) or name",
        ),
        option("--track", metavar="FILE", help="recorded flight (GPX, IGC, CSV), joined by time"),
        out("folder for judgement, entries, figure and report"),
    ),
)
