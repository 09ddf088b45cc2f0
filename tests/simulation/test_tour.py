"""Tours: every step's state is flown, and what its sentence claims and what it has you try is found."""

import re

import pytest

from lubberline.errors import InputError
from lubberline.instruments.instrument import Laws
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live import state
from lubberline.simulation.live.orders import Pace, order_of
from lubberline.simulation.live.parts import PARTS, Piece, pieces_of, plain_of
from lubberline.simulation.live.scene import Step
from lubberline.simulation.scenes import (
    begun,
    broken_claims,
    library,
    run_scene,
    scene_from_text,
    scene_named,
)
from tests.frozen import numbers
from tests.frozen.numbers import differences
from tests.simulation.scene_numbers import is_claimed, looks, misread, paces, paces_said, stated_in, texts_of

TOUR = scene_named("how_it_works")
TITLES = [step.entry.title for step in TOUR.steps]
each = pytest.mark.parametrize("step", TOUR.steps, ids=TITLES)


def after(title: str, *orders: dict[str, object], wait_s: float = 1.0) -> Frame:
    """The frame of a step some time after it was opened, with orders given then, one after the other."""
    (step,) = (step for step in TOUR.steps if step.entry.title == title)
    bench = begun(step.scene)
    bench.advance(round(wait_s / 0.1))
    for order in orders:
        bench.give(order_of(order, "test"))
        bench.advance(100)
    return bench.frame()


def test_it_has_twelve_to_sixteen_steps_for_what_makes_the_card_read() -> None:
    assert 12 <= len(TOUR.steps) <= 16
    assert len(set(TITLES)) == len(TITLES)
    named = {piece.part for step in TOUR.steps for piece in (*step.say, *step.attempt)}
    spoken = {step.entry.part for step in TOUR.steps}
    asked = {"filter", "jets", "buckets", "rotor", "inner-gimbal", "outer-gimbal", "bevel-gears", "card"}
    asked |= {"setting-knob", "stops", "suction-gauge"}
    assert asked <= named
    assert spoken <= {*PARTS}
    assert "" not in spoken
    frozen = {name: one for name, one in numbers.frozen("scenes")[TOUR.entry.id].items() if name != "steps"}
    assert list(differences(frozen, {"address": "/bench?scene=how_it_works"} | numbers.flown(TOUR)[0])) == []


@each
def test_the_engine_keeps_what_a_step_claims_and_its_numbers_are_what_they_were(step: Step) -> None:
    assert step.entry.claim
    found, frames = numbers.flown(step.scene, looks(step.scene, step.entry.from_s))
    assert broken_claims(step.scene, [*frames.values()]) == []
    assert misread(step.scene, frames, step.entry.from_s) == []
    frozen = numbers.frozen("scenes")[TOUR.entry.id]["steps"][TOUR.steps.index(step)]
    assert list(differences(frozen, found)) == []


@each
def test_numbers_in_its_texts_are_claimed(step: Step) -> None:
    stated = [number for at_s, text in texts_of(step.scene) for number in stated_in(at_s, text)]
    assert [number.words for number in stated if not is_claimed(number, step.scene)] == []
    texts = " ".join((step.entry.title, plain_of(step.entry.say), plain_of(step.entry.attempt)))
    assert [phrase for phrase in step.entry.unclaimed if phrase not in texts] == []


@each
def test_its_texts_are_sentences_and_a_fast_pace_is_said(step: Step) -> None:
    assert plain_of(step.entry.say).endswith(".")
    assert step.entry.attempt.endswith((".", "?"))
    said = {float(factor) for factor in re.findall(r"\bx(\d+)", step.entry.say)}
    assert {factor for _, factor in paces(step.scene) if factor > 1.0} == said
    assert not list(paces_said(step.scene))


def test_each_step_opens_at_its_moment_on_a_bench_of_its_own() -> None:
    for number, step in enumerate(TOUR.steps, start=1):
        assert begun(library().opened("how_it_works", number)).time_s == pytest.approx(step.entry.from_s)
    with pytest.raises(InputError, match="no step 15; at most 14"):
        library().opened("how_it_works", 15)
    with pytest.raises(InputError, match="no step 2; at most 1"):
        library().opened("rigidity", 2)


def test_what_is_to_be_tried_does_what_it_says() -> None:
    assert after(TITLES[0], {"do": "fault", "name": "pump", "size": 1.0})["shown"]["gauge_inhg"] == 0.0
    put_right = after("The knob turns the card alone", {"do": "set", "from": "compass"}, wait_s=8.0)
    assert put_right["shown"]["error_deg"] == pytest.approx(0.0, abs=0.5)
    level = ({"do": "roll", "to_deg": 0.0}, {"do": "pitch", "to_deg": 0.0})
    assert abs(after("On the stop it tumbles", *level, wait_s=10.0)["shown"]["error_deg"]) > 5.0
    # The compass needs a quarter of a minute to settle after the manoeuvre.
    steady = (*level, {"do": "climb", "to_fpm": 0.0}, {"do": "set", "from": "compass"})
    assert after("On the stop it tumbles", *steady, wait_s=10.0)["shown"]["error_deg"] == pytest.approx(
        0.0, abs=0.5
    )
    mended = after(
        "Without air the rotor runs down", {"do": "fault", "name": "pump", "size": 0.0}, wait_s=300.0
    )
    assert mended["shown"]["gauge_inhg"] > 4.5
    assert mended["shown"]["rotor_rpm"] < 6000.0


@pytest.mark.parametrize(
    ("law", "wrong", "title"),
    [
        ("earth_sine", -1.0, "The card drifts with the Earth"),
        ("levelling", 0.0, "The jets level it"),
    ],
)
def test_its_claims_notice_a_wrong_law(
    law: str, wrong: float, title: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(state, "PHYSICS", Laws({law: wrong}))
    broken = {
        step.entry.title
        for step in TOUR.steps
        if broken_claims(step.scene, run_scene(step.scene, step.scene.length_s))
    }
    assert title in broken


def test_a_text_names_parts_as_links() -> None:
    text = "Press [the inner gimbal](part:inner-gimbal), then [the card](part:card)."
    assert pieces_of(text, "here") == (
        Piece("Press "),
        Piece("the inner gimbal", "inner-gimbal"),
        Piece(", then "),
        Piece("the card", "card"),
        Piece("."),
    )
    assert plain_of(text) == "Press the inner gimbal, then the card."
    assert pieces_of("An [ordinary](https://a.example) link.", "here") == (
        Piece("An [ordinary](https://a.example) link."),
    )
    with pytest.raises(
        InputError, match=r"here: there is no part 'inner-gimball'; did you mean 'inner-gimbal'"
    ):
        pieces_of("[it](part:inner-gimball)", "here")


STEP = """
id = "sample"
title = "Sample"
[start]
latitude_deg = 70.0
heading_deg = 90.0
[[step]]
title = "First"
say = "It flies."
try = "Look."
"""


def test_a_step_starts_where_its_scene_does_unless_it_says_otherwise() -> None:
    second = STEP.partition("[[step]]")[2] + "start = { latitude_deg = 10.0 }"
    text = f"{STEP}[[step]]{second}"
    first, second = (step.scene.entry.start for step in scene_from_text("sample.toml", text).steps)
    assert (first.latitude_deg, first.heading_deg) == (70.0, 90.0)
    assert (second.latitude_deg, second.heading_deg) == (10.0, 90.0)


@pytest.mark.parametrize(
    ("line", "where", "wrong"),
    [
        ('part = "wheel"', "sample.toml, step 1, part", "no part 'wheel'"),
        ('camera = { look = "wheel" }', "sample.toml, step 1, camera 1, look", "no part 'wheel'"),
        ('say_it = "x"', "sample.toml, step 1, say_it", "unknown key"),
        ('dial = "clock"', "sample.toml, step 1, dial", "invalid enum value"),
        (
            "start = { latitude_deg = 200.0 }",
            "sample.toml, step 1, start.latitude_deg",
            "expected `float` <= 89.9",
        ),
        (
            'event = [{ at_s = 0.0, do = { do = "jump" } }]',
            "sample.toml, step 1, event 1, do",
            "no order 'jump'",
        ),
    ],
)
def test_a_step_that_is_not_right_is_refused_with_its_place(line: str, where: str, wrong: str) -> None:
    with pytest.raises(InputError) as refused:
        scene_from_text("sample.toml", STEP + line)
    place = re.sub(r", line \d+", "", refused.value.where)
    assert place == where
    assert wrong in refused.value.wrong


def test_a_scene_that_is_no_tour_has_no_steps() -> None:
    assert [id for id, scene in library().items() if scene.steps] == ["how_it_works"]
    assert isinstance(Bench(TOUR), Bench)
    assert not any(isinstance(event.order, Pace) for event in TOUR.events)
