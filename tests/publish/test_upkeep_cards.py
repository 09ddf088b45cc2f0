"""The deviation card and the knee-board card as an independent reader of PDFs finds them."""

import re
from pathlib import Path

import pytest

from lubberline.publish.reports.deviation_card import deviation_card_pdf, deviation_svg
from lubberline.publish.reports.kneeboard import MARK, kneeboard_pdf, plan_svg
from lubberline.simulation.aircraft import Aircraft
from lubberline.upkeep.planning import HEALTHY, plan_of
from lubberline.upkeep.records import Plan
from lubberline.upkeep.routes import read_route
from lubberline.upkeep.swing import Pair, swing_of
from tests.poppler import poppler

DEMO = Path(__file__).parents[2] / "demo"
PAIRS = [
    Pair(float(h), (h + shift) % 360.0)
    for h, shift in zip(range(0, 360, 45), (2, 1, -1, -2, -2, 0, 3, 4), strict=True)
]
HOSTILE = "#import <b> *x* $y$ \\"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_of(read_route(DEMO / "flights" / "eastbound_60n.toml"), Aircraft(name=HOSTILE), HEALTHY, 5.0)


def test_the_deviation_card_says_what_to_steer(tmp_path: Path) -> None:
    swing = swing_of(PAIRS)
    made = deviation_card_pdf({"": swing}, "ZZ-OAK", "2026-05-02")
    text = poppler("pdftotext", made, tmp_path, "-layout")
    for line in swing.card:
        steer = f"{round(line.steer_deg) % 360:03d}"
        assert re.search(rf"\b{line.for_deg:03.0f}\s+{steer}\b", text), line
    for words in (
        "ZZ-OAK",
        "2026-05-02",
        "Swing made and signed by",
        "For teaching only",
        "is within the limit of 10.0",
    ):
        assert words in text
    info = poppler("pdfinfo", made, tmp_path)
    assert "Tagged:          yes" in info
    assert "Pages:           1" in info


def test_radios_on_and_off_stand_side_by_side(tmp_path: Path) -> None:
    on = swing_of([Pair(pair.magnetic_deg, (pair.compass_deg + 2.0) % 360.0) for pair in PAIRS])
    text = poppler("pdftotext", deviation_card_pdf({"on": on, "off": swing_of(PAIRS)}), tmp_path, "-layout")
    first = next(row for row in zip(swing_of(PAIRS).card, on.card, strict=True) if row[0].for_deg == 90.0)
    steers = [f"{round(line.steer_deg):03d}" for line in first]
    assert re.search(rf"090\s+{steers[0]}\s+{steers[1]}", text)
    assert re.search(r"radios off\s+radios on", text)


def test_every_pair_is_a_point_beside_its_curve() -> None:
    swing = swing_of(PAIRS)
    one = deviation_svg({"": swing}, {"": ""})
    assert one.count("<circle") == len(PAIRS)
    # Far from the limit the scale is that of the deviations; near it the limit is drawn.
    assert 'class="limit"' not in one
    assert deviation_svg({"": swing_of(PAIRS, 5.0)}, {"": ""}).count('class="limit"') == 2
    both = deviation_svg({"off": swing, "on": swing}, {"off": "radios off", "on": "radios on"})
    assert both.count("<circle") == 2 * len(PAIRS)
    assert "● radios off, ○ radios on" in both


def test_a_swing_beyond_its_limit_says_so_and_marks_what_is_doubtful(tmp_path: Path) -> None:
    far = [Pair(pair.magnetic_deg, (pair.compass_deg - 12.0) % 360.0) for pair in PAIRS]
    text = poppler("pdftotext", deviation_card_pdf({"": swing_of(far)}), tmp_path, "-layout")
    assert "exceeds the limit of 10.0" in text


def test_the_kneeboard_card_is_marked_and_says_when_to_set_it(plan: Plan, tmp_path: Path) -> None:
    made = kneeboard_pdf(plan)
    text = poppler("pdftotext", made, tmp_path, "-layout")
    assert MARK in text
    for setting in plan.settings:
        minutes = round(setting.at_min)
        assert f"{minutes // 60}:{minutes % 60:02d}" in text
    for leg in plan.legs:
        assert f"{round(leg.steer_deg) % 360:03d}" in text
    # What a person typed is never read as markup.
    assert "#import" in text
    info = poppler("pdfinfo", made, tmp_path)
    assert "Page size:       419.528 x 595.276 pts" in info
    assert "Tagged:          yes" in info


def test_the_plans_drawing_is_a_document_of_its_own(plan: Plan) -> None:
    svg = plan_svg(plan, theme="auto")
    assert svg.count('class="interval"') == len(plan.settings)
    assert "<title" in svg
    assert "prefers-color-scheme" in svg
    assert "<script" not in svg


def test_the_same_data_give_the_same_bytes(plan: Plan) -> None:
    assert kneeboard_pdf(plan) == kneeboard_pdf(plan)
