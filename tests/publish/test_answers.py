"""What counts as right: bounds in decimals, directions round the circle, words of the key."""

import pytest

from lubberline.publish.papers.answers import (
    bounds,
    is_direction,
    key_words,
    number_words,
    plain_number,
    right_bounds,
)
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.questions.item import Item

from .made_up_paper import choice, number


def north_item() -> Item:
    """An item of the bank that asks for a heading, whose answer is north."""
    asking = next(model for model in models().values() if model.kind == "number" and model.notation.circle)
    return next(item for seed in range(5000) if (item := generate(asking, seed)).answer == 360.0)


@pytest.mark.parametrize(
    ("value", "tolerance", "expected"),
    [
        (360.0, 2.0, (("0", "2"), ("358", "360"))),
        (1.0, 3.0, (("0", "4"), ("358", "360"))),
        (0.0, 0.5, (("0", "0.5"), ("359.5", "360"))),
        (180.0, 2.0, (("178", "182"),)),
    ],
)
def test_a_direction_near_north_is_right_on_both_sides(value, tolerance, expected):
    """Numbers a person may write for it, worked out by hand."""
    assert bounds(value, tolerance, direction=True) == expected


def test_a_quantity_is_not_taken_round_the_circle():
    assert bounds(1.0, 3.0) == (("-2", "4"),)
    assert bounds(0.3, 0.1) == (("0.2", "0.4"),)


def test_a_model_of_headings_asks_for_a_direction():
    asking = [model for model in models().values() if model.kind == "number"]
    assert {model.id: is_direction(generate(model, 1)) for model in asking} == {
        model.id: model.notation.circle for model in asking
    }
    assert any(model.notation.circle for model in asking)
    assert len(right_bounds(north_item())) == 2
    assert key_words(north_item()).startswith("360° (")


def test_words_of_the_key():
    assert key_words(choice(2)) == "C"
    assert key_words(number(-3.0, 0.5, "deg/h")) == "−3° an hour (−3.5 to −2.5)"
    assert key_words(number(465.0, 12.0, "kt")) == "465 kt (453 to 477)"


@pytest.mark.parametrize(
    ("value", "written"), [(1e-7, "0.0000001"), (-0.0, "0"), (1e6, "1000000"), (7.10, "7.1")]
)
def test_numbers_have_no_exponent(value, written):
    assert plain_number(value) == written


def test_a_unit_in_words_of_ones_own_stays_whole():
    """As a lesson writes it: 'degrees' is no abbreviation to be set as a sign."""
    own = number(-3.5, unit="degrees (minus for low)")
    assert number_words(own) == "−3.5 degrees (minus for low)"
    assert number_words(number(7.1)) == "7.1°"
