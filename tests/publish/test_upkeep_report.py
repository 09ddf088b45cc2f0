"""The page for the engineer, and the trend, as an independent reader finds them."""

import re
from pathlib import Path

import msgspec
import pytest

from lubberline.publish.reports.upkeep_report import rate_deg_15min, trend_svg, upkeep_report_pdf
from lubberline.simulation.aircraft import Aircraft, read_aircraft
from lubberline.upkeep.judge import judge
from lubberline.upkeep.log import read_log
from lubberline.upkeep.records import Judgement, Log, LogEvent, Refusal
from tests.poppler import poppler

DEMO = Path(__file__).parents[2] / "demo"
HOSTILE = "#import <script>alert(1)</script> *x* $y$ \\"


@pytest.fixture(scope="module")
def elm() -> tuple[Judgement, Log, Aircraft]:
    aircraft = read_aircraft(DEMO / "aircraft" / "zz_elm.toml")
    log = read_log(DEMO / "logs" / "zz_elm.csv", aircraft.name)
    return judge(log, aircraft), log, aircraft


def test_the_report_is_one_page_with_everything_on_it(
    elm: tuple[Judgement, Log, Aircraft], tmp_path: Path
) -> None:
    judgement, log, aircraft = elm
    made = upkeep_report_pdf(judgement, log, aircraft)
    text = " ".join(poppler("pdftotext", made, tmp_path, "-layout").split())
    estimate = judgement.estimate
    for number in (estimate.mean_deg_15min, estimate.low_deg_15min, estimate.high_deg_15min):
        assert f"{abs(number):.1f}°" in text
    for words in (
        "Heading indicator of ZZ-ELM",
        "Have it checked by an engineer",
        "Most likely causes",
        "Next:",
        "rule of thumb",
        "Assumptions",
        "For teaching only",
        "licensed maintenance engineer",
        "7.7 min",
        "doubtful",
    ):
        assert words in text, words
    info = poppler("pdfinfo", made, tmp_path)
    assert "Pages:           1" in info
    assert "Tagged:          yes" in info


def test_a_log_full_of_trouble_still_fits_on_one_page(
    elm: tuple[Judgement, Log, Aircraft], tmp_path: Path
) -> None:
    judgement, log, aircraft = elm
    refused = tuple(Refusal(f"line {n}", HOSTILE * 3, "right " * 40, {"note": HOSTILE}) for n in range(80))
    events = tuple(LogEvent(n, log.checks[n].time_s, HOSTILE * 5) for n in range(20))
    log = msgspec.structs.replace(log, refused=refused, events=events)
    judgement = msgspec.structs.replace(judgement, reasons=("a reason " * 60,) * 20, aircraft=HOSTILE * 4)
    made = upkeep_report_pdf(judgement, log, aircraft)
    assert "Pages:           1" in poppler("pdfinfo", made, tmp_path)
    text = poppler("pdftotext", made, tmp_path)
    assert "80 rows were not understood" in text
    assert "and 75 more" in text
    assert "#import" in text


def test_the_trend_shows_every_check_and_says_its_numbers(elm: tuple[Judgement, Log, Aircraft]) -> None:
    judgement, log, _ = elm
    svg = trend_svg(judgement, (LogEvent(1, log.checks[20].time_s, HOSTILE),))
    drawn = [one for one in judgement.residuals if rate_deg_15min(one) == rate_deg_15min(one)]
    inside = len(re.findall(r"<circle", svg))
    outside = len(re.findall(r'class="open" d="M|class="dot" d="M', svg))
    assert inside + outside == len(drawn)
    assert "<script" not in svg
    assert "usual allowance 3°" in svg
    assert "prefers-color-scheme" not in svg
    assert "prefers-color-scheme" in trend_svg(judgement, theme="auto")


def test_an_instrument_seen_once_can_be_drawn_and_reported(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time_utc,indicated,compass,set_at,place\n2026-01-01T10:00Z,004,002,09:30Z,47N 8E\n")
    log, aircraft = read_log(path), Aircraft(name="ZZ-NEW")
    judgement = judge(log, aircraft)
    assert "<circle" in trend_svg(judgement)
    assert upkeep_report_pdf(judgement, log, aircraft).startswith(b"%PDF")
