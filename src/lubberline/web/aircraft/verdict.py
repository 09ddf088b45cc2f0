"""Judges an aircraft's log for the pages; cached until the log or the aircraft's file changes."""

import math
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, NamedTuple

from lubberline.errors import InputError
from lubberline.flight.home import NO_HOME, Home
from lubberline.publish.reports.upkeep_report import (
    HEIGHT,
    LIMIT_DEG_15MIN,
    rate_deg_15min,
    trend_words,
)
from lubberline.publish.words import degrees, number, typeset
from lubberline.store.fleet import Craft
from lubberline.store.school import School
from lubberline.upkeep.in_class import Estimated
from lubberline.upkeep.judge import judge
from lubberline.upkeep.log import log_from_rows
from lubberline.upkeep.planning import own_wander_from
from lubberline.upkeep.records import FAULT_NAMES, VERDICT_WORDS, Judgement, Log, OwnWander, Verdict
from lubberline.web.aircraft.log_book import all_entries

TODO: dict[Verdict, str] = {
    "earth": "Nothing; keep logging.",
    "watch": "Log more checks.",
    "look": "Give the report to the engineer.",
}
REMEMBERED = 256
# The drawing of a fleet's row: half its width in degrees, and in its own units.
SPAN_DEG, HALF_WIDTH = 8.0, 100.0
LEAST_SHARE = 0.01
# A fault is included for class when it is more likely than everything else together.
TOLD_OF = 0.5
# Certain faults, by their effect on the gauge, as the engine's faults.
ENGINE_FAULT = {"low_flow": "pump", "regulator": "regulator", "filter": "filter", "bearings": "bearings"}
GREATEST_SHARE = 0.95


class Judged(NamedTuple):
    """A log and its judgement; None when there is nothing to judge."""

    log: Log
    judgement: Judgement | None


def judged_of(school: School, craft: Craft) -> Judged:
    """The judgement of an aircraft's log."""
    return _judged(craft, tuple(tuple(entry.cells.items()) for entry in all_entries(school, craft)))


@lru_cache(maxsize=REMEMBERED)
def _judged(craft: Craft, rows: tuple[tuple[tuple[str, str], ...], ...]) -> Judged:
    numbered = enumerate(map(dict, rows), start=1)
    log = log_from_rows(
        [(f"entry {cells.get('time_utc') or number_}", number_, cells) for number_, cells in numbered],
        craft.name,
    )
    if not log.checks:
        return Judged(log, None)
    try:
        return Judged(log, judge(log, craft.aircraft))
    except InputError:
        # Too few checks to judge.
        return Judged(log, None)


def bar(judgement: Judgement) -> dict[str, Any]:
    """The real wander with its interval as a small drawing."""
    estimate = judgement.estimate
    low, high = estimate.low_deg_15min, estimate.high_deg_15min

    def at(value: float) -> float:
        return round(110.0 + max(-1.0, min(1.0, value / SPAN_DEG)) * HALF_WIDTH, 1)

    value = f"{degrees(estimate.mean_deg_15min)}"
    return {
        "span": f"{SPAN_DEG:g}",
        "at": at(estimate.mean_deg_15min),
        "left": at(low),
        "right": at(high),
        "allowed_left": at(-LIMIT_DEG_15MIN),
        "allowed_right": at(LIMIT_DEG_15MIN),
        "value": value,
        "low": degrees(low),
        "high": degrees(high),
        "words": f"Real wander {value} in 15 min, 95% interval {degrees(low)} to {degrees(high)}",
    }


def brief(craft: Craft, judged: Judged, home: Home = NO_HOME) -> dict[str, Any]:
    """An aircraft in the fleet's table."""
    judgement = judged.judgement
    row = {
        "key": craft.key,
        "name": craft.name,
        "invented": craft.invented,
        "checks": len(judged.log.checks),
        "last": home.day(judged.log.checks[-1].time_s) if judged.log.checks else "",
    }
    if judgement is None:
        return {
            **row,
            "verdict": "Too few checks",
            "level": "none",
            "wander": None,
            "todo": "Log a check: card, compass, and when it was last set.",
        }
    return {
        **row,
        "verdict": VERDICT_WORDS[judgement.verdict],
        "level": judgement.verdict,
        "wander": bar(judgement),
        "todo": TODO[judgement.verdict],
    }


def _plainly(text: str) -> str:
    return typeset(text).replace(" deg", "°")


def whole(craft: Craft, judged: Judged, picture: str, home: Home = NO_HOME) -> dict[str, Any]:
    """One aircraft on its own page; `picture` is the address of its trend."""
    judgement = judged.judgement
    row = brief(craft, judged, home)
    if judgement is None:
        nothing: dict[str, Any] = {"reasons": [], "next": "", "shares": [], "assumed": [], "class": None}
        return {
            **row,
            **nothing,
            "sentence": "There are too few checks to judge the instrument.",
            "picture": "",
        }
    return {
        **row,
        "sentence": home.said(_plainly(judgement.sentence)),
        "reasons": [home.said(_plainly(reason)) for reason in (*judgement.reasons, judgement.rule_of_thumb)],
        "next": home.said(_plainly(judgement.next_observation)),
        "shares": [
            {"name": FAULT_NAMES[fit.fault], "percent": round(100.0 * fit.probability)}
            for fit in judgement.faults
            if fit.probability >= LEAST_SHARE
        ],
        "assumed": [home.said(_plainly(words)) for words in judgement.assumed],
        "picture": picture,
        "picture_height": f"{HEIGHT:g}",
        "picture_words": trend_words(judgement),
        "class": None,
    }


def estimated_of(craft: Craft, judged: Judged) -> Estimated | None:
    """The instrument according to its log, for the bench; None when nothing is known."""
    judgement = judged.judgement
    if judgement is None:
        return None
    checks = judged.log.checks
    best = judgement.faults[0] if judgement.faults else None
    fault, size = "", 0.0
    if best and best.probability >= TOLD_OF and best.fault in ENGINE_FAULT and best.size > 0.0:
        fault = ENGINE_FAULT[best.fault]
        size = round(
            best.size
            if fault == "regulator"
            else min(best.size, 1.0 if fault == "bearings" else GREATEST_SHARE),
            2,
        )
    latitudes = sorted(check.latitude_deg for check in checks)
    longitudes = sorted(check.longitude_deg for check in checks)
    return Estimated(
        key=craft.key,
        name=craft.name,
        aircraft=craft.aircraft,
        latitude_deg=latitudes[len(latitudes) // 2],
        longitude_deg=longitudes[len(longitudes) // 2],
        day=datetime.fromtimestamp(checks[-1].time_s, UTC).date(),
        wander_deg_15min=judgement.estimate.mean_deg_15min,
        fault=fault,
        size=size,
    )


def own_wander(craft: Craft, judged: Judged) -> OwnWander | None:
    """The instrument's real wander from the log, for a plan."""
    if judged.judgement is None:
        return None
    return own_wander_from(judged.judgement.estimate, craft.aircraft)


def says_of(judged: Judged) -> dict[int, str]:
    """The result of each check in words, by row."""
    if judged.judgement is None:
        return {}
    found = {}
    for one in judged.judgement.residuals:
        rate = rate_deg_15min(one)
        words = f"{degrees(one.left_deg)} left in {number(one.check.minutes, 0)} min"
        if not math.isnan(rate):
            words += f", {degrees(rate)} in 15 min"
        found[one.check.row] = words + ("; likely misread" if one.outlier >= 0.5 else "")
    return found
