"""`lubberline swing`: coefficients, limits and deviation card from a compass swing."""

import argparse
import json
from typing import Any

from lubberline.commands import terminal
from lubberline.commands.home import paper_in_use
from lubberline.commands.options import Command, day, number, option, out


def run(given: argparse.Namespace) -> None:
    """Evaluate it, print the result, write the files."""
    import msgspec

    from lubberline.publish.folder import write_together
    from lubberline.publish.reports.deviation_card import deviation_card_pdf
    from lubberline.simulation import CAUTIONS
    from lubberline.upkeep.swing import read_pairs, swing_of

    swings = {
        radios: swing_of(pairs, given.limit) for radios, pairs in sorted(read_pairs(given.pairs).items())
    }
    for radios, swing in swings.items():
        _say(f"radios {radios}" if radios else "", swing)
    told = {radios or "swing": msgspec.to_builtins(swing) for radios, swing in swings.items()}
    text = json.dumps({**told, "cautions": CAUTIONS}, indent=1, ensure_ascii=False) + "\n"
    written = write_together(
        {
            "swing.json": text.encode,
            "card.pdf": lambda: deviation_card_pdf(swings, given.aircraft, given.date or "", paper_in_use()),
        },
        given.out,
    )
    terminal.say_written(written, CAUTIONS)


def _say(title: str, swing: Any) -> None:
    from lubberline.upkeep.swing import why_they_differ

    print(f"{len(swing.pairs)} pairs{', ' + title if title else ''}\n")
    print(f"{'':4}{'least squares':>15}{'standard error':>16}{'by hand':>10}")
    for name, fitted, error, by_hand in swing.coefficients:
        print(f"{name:4}{fitted:>+15.2f}{_cell(error):>16}{_cell(by_hand, '+'):>10}")
    print(f"\nResiduals: {swing.rms_deg:.2f} deg root mean square, at most {swing.largest_residual_deg:.2f}.")
    print(why_they_differ(swing) or f"No hand method: {swing.by_hand_note}.")
    for pair in swing.pairs:
        if pair.doubtful:
            print(f"Doubtful: magnetic {pair.magnetic_deg:g}, compass {pair.compass_deg:g}; check this pair.")
    met = "is within" if swing.within_limit else "EXCEEDS"
    print(
        f"The greatest deviation, {swing.greatest_deg:.1f} deg on compass heading "
        f"{swing.greatest_at_deg:03.0f}, {met} the limit of {swing.limit_deg:g} deg.\n"
    )


def _cell(value: float | None, sign: str = "") -> str:
    return "-" if value is None else format(value, f"{sign}.2f")


SWING = Command(
    "swing",
    "evaluate a compass swing: coefficients, limits, deviation card",
    run,
    "Fitting the swing",
    (
        option(
            "pairs", metavar="PAIRS.csv", help="magnetic_deg,compass_deg[,radios]: one row for each heading"
        ),
        out("folder for swing.json and card.pdf"),
        option(
            "--limit",
            type=number(0.0, 90.0, "degrees", above_low=True),
            default=10.0,
            metavar="DEG",
            help="greatest deviation allowed",
        ),
        option("--aircraft", default="", metavar="NAME", help="aircraft as printed on the card"),
        option("--date", type=day, metavar="YYYY-MM-DD", help="day of the swing, printed on the card"),
    ),
)
