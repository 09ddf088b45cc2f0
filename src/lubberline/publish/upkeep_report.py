"""What an aircraft's log says of its heading indicator, on one page for the engineer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from lubberline.publish.pdf import pdf
from lubberline.publish.upkeep_figure import OUTLIER, rate_deg_15min, trend_svg, trend_words
from lubberline.publish.words import degrees, first_of, many, number, shortened, typeset
from lubberline.simulation.aircraft import Aircraft
from lubberline.upkeep.records import Judgement, Log, Residual

ROWS_SHOWN = 12
PAPER_HEIGHT = 420.0
REFUSED_SHOWN = 5
LINES_SHOWN = 7
LONGEST_LINE = 230
FAULT_WORDS = {
    "healthy": "nothing wrong",
    "low flow": "low flow: pump or hose leak",
    "regulator": "regulator",
    "filter": "filter",
    "bearings": "bearings",
    "latitude balance": "latitude balance",
}
HEAD = (
    "Date",
    "min",
    "Seen",
    "Earth",
    "Journey",
    "Balance",
    "Compass",
    "Left",
    "in 15 min",
    "Suction",
    "Run-down",
)


def day_of(time_s: float) -> str:
    """A time as a day."""
    return f"{datetime.fromtimestamp(time_s, UTC):%Y-%m-%d}"


def plain_sentence(judgement: Judgement) -> str:
    """The sentence without the verdict before it, which stands over it."""
    rest = judgement.sentence.removeprefix(f"{judgement.verdict[0].upper()}{judgement.verdict[1:]}: ")
    return rest[:1].upper() + rest[1:]


def _inhg(idle: float, cruise: float) -> str:
    if math.isnan(idle) and math.isnan(cruise):
        return ""
    return f"{'–' if math.isnan(idle) else number(idle)} / {'–' if math.isnan(cruise) else number(cruise)}"


def _row(one: Residual) -> list[str]:
    check = one.check
    rate = rate_deg_15min(one)
    return [
        day_of(check.time_s),
        number(check.minutes, 0),
        degrees(one.seen_deg),
        degrees(one.earth_deg),
        degrees(one.travel_deg),
        degrees(one.balance_deg),
        degrees(one.variation_deg + one.deviation_deg),
        degrees(one.left_deg),
        ("" if math.isnan(rate) else degrees(rate)) + (" doubtful" if one.outlier >= OUTLIER else ""),
        _inhg(check.idle_inhg, check.cruise_inhg),
        "" if math.isnan(check.run_down_min) else f"{number(check.run_down_min)} min",
    ]


def report_data(judgement: Judgement, log: Log, aircraft: Aircraft) -> dict[str, Any]:
    """All text of the report, ready to be set; what people typed is shortened to what a page holds."""
    shown = judgement.residuals[-ROWS_SHOWN:]
    earlier = len(judgement.residuals) - len(shown)
    estimate = judgement.estimate
    faults = [[FAULT_WORDS[fit.fault], f"{100.0 * fit.probability:.0f} %"] for fit in judgement.faults]
    indicator, suction = aircraft.heading_indicator, aircraft.suction
    balance = indicator.balance_latitude_deg
    tap = "across the instruments" if suction.gauge_tap == "instruments" else "against the cabin"
    balanced = "none" if balance is None else degrees(balance, 0)
    fitted = (
        f"Drive: {indicator.drive}. Gauge: {tap}. Regulator: {number(suction.regulator_inhg)} inHg. "
        f"Latitude balance: {balanced}."
    )
    days = [one.check.time_s for one in judgement.residuals]
    span = f"{day_of(min(days))} to {day_of(max(days))}" if days else "no checks"
    return {
        "title": f"Heading indicator of {shortened(judgement.aircraft or aircraft.name, 50)}",
        "subtitle": f"{many(len(judgement.residuals), 'check')}, {span}. {fitted}",
        "verdict": judgement.verdict[0].upper() + judgement.verdict[1:],
        "sentence": typeset(shortened(plain_sentence(judgement), 420)).replace(" deg", "°"),
        "reasons": _lines(judgement.reasons),
        "wander": [
            ["in 15 min", degrees(estimate.mean_deg_15min)],
            ["95% interval", f"{degrees(estimate.low_deg_15min)} to {degrees(estimate.high_deg_15min)}"],
            ["beyond 3° either way", f"{100.0 * estimate.beyond_limit:.0f} %"],
            ["changing slowly", f"{100.0 * estimate.growing:.0f} %"],
        ],
        "faults": faults,
        "next": typeset(shortened(judgement.next_observation, 300)).replace(" deg", "°"),
        "rule": typeset(shortened(judgement.rule_of_thumb, 300)).replace(" deg", "°"),
        "rows_title": "The checks, with what explains them taken out"
        if earlier <= 0
        else f"The last {len(shown)} checks of {len(judgement.residuals)}",
        "head": list(HEAD),
        "rows": [_row(one) for one in shown],
        "events": first_of([f"{day_of(event.time_s)}: {event.words}" for event in log.events[-3:]], 3, 120),
        "refused_title": many(len(log.refused), "row was", "rows were") + " not understood and not judged",
        "refused": first_of(
            [f"{one.where}: {one.wrong}; {one.right}" for one in log.refused], REFUSED_SHOWN, 150
        ),
        "assumed": _lines(judgement.assumed),
        "cautions": " ".join(judgement.cautions),
        "figure_alt": trend_words(judgement),
    }


def _lines(lines: Sequence[str]) -> list[str]:
    return [typeset(line).replace(" deg", "°") for line in first_of(list(lines), LINES_SHOWN, LONGEST_LINE)]


def upkeep_report_pdf(judgement: Judgement, log: Log, aircraft: Aircraft) -> bytes:
    """The judgement as one A4 page, tagged; the same log gives the same bytes."""
    return pdf(
        ("upkeep_report.typ",),
        report_data(judgement, log, aircraft),
        {"figure": trend_svg(judgement, log.events, height=PAPER_HEIGHT)},
    )
