"""What each wrong idea answers, and where it may stand as an option, worked out by hand."""

import dataclasses

import pytest

from lubberline.instruments.heading_indicator.gyro import GyroLaws
from lubberline.questions import notation
from lubberline.questions.bank import model_named
from lubberline.questions.blackboard import balance_deg_h, travel_deg_h
from lubberline.questions.generate import generate, item_of, live_wrong, wrong_answers
from lubberline.questions.item import prior_difficulty
from lubberline.questions.model import Worked, Wrong
from lubberline.questions.models.gimballing import pitch_error_deg
from lubberline.simulation.misconceptions import flown_idea

WRONG_WAY, BOTH, MAGNETIC = "deviation-the-wrong-way", "both-the-wrong-way", "compass-heading-is-magnetic"
CHAIN = {"start_deg": 100.0, "variation_deg": 7.0, "deviation_deg": 3.0}


@pytest.mark.parametrize(
    ("model", "drawn", "answers"),
    [
        # Common practice, no source: variation and deviation east are subtracted from true to compass.
        (
            "compass-from-true",
            CHAIN,
            {
                "deviation-the-wrong-way": 96.0,
                "both-the-wrong-way": 110.0,
                "compass-heading-is-magnetic": 93.0,
            },
        ),
        (
            "compass-to-true",
            CHAIN,
            {
                "deviation-the-wrong-way": 104.0,
                "both-the-wrong-way": 90.0,
                "compass-heading-is-magnetic": 107.0,
            },
        ),
        # South of the equator too, who thinks of another size keeps the side, and who thinks of the other
        # side keeps the size.
        (
            "wander-find-latitude",
            {"latitude_deg": -40.0, "minutes": 60.0},
            {"rises-in-the-north": 40.0, "no-wander-at-poles": -50.0},
        ),
    ],
)
def test_what_each_idea_answers(model: str, drawn: dict[str, float], answers: dict[str, float]) -> None:
    made = model_named(model)
    found = {one.idea: one.value for one in wrong_answers(made, item_of(made, drawn))}
    assert {idea: found[idea] for idea in answers} == answers


@pytest.mark.parametrize(("model", "magnetic"), [("compass-from-true", "093°"), ("compass-to-true", "103°")])
def test_the_magnetic_heading_told_lies_between_variation_and_deviation(model: str, magnetic: str) -> None:
    item = item_of(model_named(model), CHAIN)
    assert f"magnetic {magnetic}" in item.reason


def test_who_thinks_that_the_nut_cancels_the_journey_has_none_of_it_left() -> None:
    laws = GyroLaws()._replace(**flown_idea("balance-cancels-journey").change)
    balance = balance_deg_h(60.0, 60.0, 120.0, 1.0, laws)
    assert balance == pytest.approx(15.0 * 0.8660 - travel_deg_h(60.0, 120.0), abs=0.01)


def test_a_pitch_throws_the_card_the_other_way_than_a_bank() -> None:
    """The universal joint: tan(card) = tan(angle) / cos(pitch), 49.1 deg at 45 and 30."""
    assert pitch_error_deg(30.0, 45.0) == pytest.approx(4.107, abs=1e-3)
    assert pitch_error_deg(30.0, 135.0) == pytest.approx(-4.107, abs=1e-3)


def test_an_error_is_too_high_where_the_reading_is_greater() -> None:
    assert [notation.error(value) for value in (12.0, -12.0, 0.2)] == [
        "12° too high",
        "12° too low",
        "no error",
    ]


def test_steps_directions_and_options_each_make_a_question_harder() -> None:
    middle = prior_difficulty(2, 1, 3)
    assert prior_difficulty(2, 0, 3) < middle < prior_difficulty(2, 2, 3)
    assert prior_difficulty(1, 1, 3) < middle < prior_difficulty(2, 1, 4)


def test_no_slip_lies_within_two_tolerances_of_the_key() -> None:
    """Nearer ones could be marked as the key and as the slip."""
    made = model_named("wander-after-a-time")
    item = generate(made, 1)
    assert item.answer is not None
    away = 1.4 * made.tolerance
    near = Worked(item.answer, (Wrong("no-earth-wander", item.answer + away),), {})
    fine = dataclasses.replace(made, work=lambda d: near, apart=0.0)  # type: ignore[arg-type]
    assert live_wrong(fine, item.drawn, near) == []


def test_an_idea_whose_number_lies_at_the_key_cannot_be_told_from_it() -> None:
    made = model_named("wander-rate")
    item = generate(made, 1)
    key = item.options[item.key].value
    assert key is not None
    for away, is_key in ((0.5 * made.apart, True), (3.0 * made.apart, False)):
        worked = Worked(key, (Wrong("no-earth-wander", key + away),), made.work(item.drawn).facts)
        near = dataclasses.replace(
            made,
            work=lambda d, worked=worked: worked,  # type: ignore[arg-type, misc]
            second=lambda d, believed, away=away: key + away,  # type: ignore[arg-type, misc]
        )
        assert [one.is_key for one in wrong_answers(near, item)] == [is_key]


def test_an_observation_that_tells_two_faults_apart_as_well_is_no_wrong_answer() -> None:
    """Between a weak pump and a low regulator both readings of the gauge differ, by 1 inHg and more."""
    made = model_named("suction-next-check")
    worked = made.work({"one": "pump", "other": "regulator", "tap": "cabin"})
    assert worked.key == "gauge_idle"
    assert {wrong.value for wrong in worked.wrong} == {"run_down", "drift", "set", "swing"}
