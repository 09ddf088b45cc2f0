"""Every option that names an idea is what that idea answers, by a way that shares no code with the first."""

import dataclasses
import inspect
import re
from pathlib import Path

import pytest

from lubberline.questions import generate as made
from lubberline.questions.bank import model_named, models
from lubberline.questions.belief import TRUTH, Belief, has_law
from lubberline.questions.generate import CannotDrawError, generate, item_of, wrong_answers
from lubberline.questions.model import ItemModel, Wrong
from lubberline.questions.models import gimballing
from lubberline.questions.second_ways import rates
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import ALL, BY_ID
from tests.questions.item_checks import unproved
from tests.questions.reached import reached

MODELS = list(models().values())
FOLDER = Path(gimballing.__file__).parent


def ways(model: ItemModel) -> tuple[set[str], set[str]]:
    """What the first and the second way reach."""
    claims = inspect.getclosurevars(model.work).nonlocals.get("by_name")
    if not claims or model.kind != "statement":
        return reached(model.work), reached(model.second)
    return (
        reached(*(claim.holds for claim in claims.values())),
        reached(*(claim.second for claim in claims.values())),
    )


@pytest.mark.parametrize("model", MODELS, ids=[model.id for model in MODELS])
def test_the_two_ways_to_an_answer_share_no_code_and_no_number(model: ItemModel) -> None:
    first, second = ways(model)
    assert first & second == set()


def test_a_way_that_is_the_other_is_found() -> None:
    model = model_named("wander-rate")
    first, second = ways(dataclasses.replace(model, second=model.work))  # type: ignore[arg-type]
    assert any("wander_deg_h" in name for name in first & second)


@pytest.mark.acceptance
@pytest.mark.parametrize("model", MODELS, ids=[model.id for model in MODELS])
def test_every_idea_of_a_model_is_proved_on_some_item(model: ItemModel) -> None:
    """Offered as an option or not."""
    found: set[str] = set()
    for seed in range(400):
        item = generate(model, seed)
        found |= {idea for option in (*item.options, *item.slips) for idea in option.ideas}
        if seed < 100 and model.kind != "statement":
            found |= {said.idea for said in wrong_answers(model, item) if not said.is_key}
    assert {idea for idea in model.words.feedback if has_law(idea)} - found == set()


@pytest.mark.parametrize("id", ["tumbling-stop-claims", "balance-claims", "setting-claims"])
def test_nobody_who_is_named_for_a_claim_is_right_about_it(id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    model = model_named(id)
    assert not any(unproved(model, generate(model, seed)) for seed in range(40))
    # Without the proof a claim would name everybody who may be wrong about it somewhere.
    monkeypatch.setattr(made, "proved", lambda model, drawn, wrong, others: wrong)
    assert any(unproved(model, generate(model, seed)) for seed in range(40))


def test_an_option_that_no_law_gives_makes_no_item() -> None:
    model = model_named("wander-rate")
    drawn = generate(model, 1).drawn
    worked = model.work(drawn)
    lied = worked._replace(wrong=(Wrong("no-earth-wander", 40.0), Wrong("rises-in-the-north", -40.0)))
    with pytest.raises(CannotDrawError):
        item_of(dataclasses.replace(model, work=lambda d: lied), drawn)


def test_an_option_without_a_law_names_no_idea_and_stays_out_of_the_diagnosis() -> None:
    model = model_named("terms-name-the-error")
    item = next(one for one in (generate(model, seed) for seed in range(9)) if not one.options[0].ideas)
    plain = [option for place, option in enumerate(item.options) if place != item.key and not option.ideas]
    assert plain
    assert all(SLIPS["name-of-another-error"].mend in option.feedback for option in plain)
    assert all(said.idea != "name-of-another-error" for said in wrong_answers(model, item))


def test_every_step_that_a_slip_replaces_is_asked_for_by_a_second_way() -> None:
    texts = "".join(path.read_text(encoding="utf-8") for path in FOLDER.glob("*.py")).replace("'", '"')
    steps = {slip.step for slip in SLIPS.values() if slip.instead is not None}
    assert {step for step in steps if f'"{step}"' not in texts} == set()
    assert all((slip.instead is None) == (not slip.step) for slip in SLIPS.values())


@pytest.mark.parametrize("latitude_deg", [60.0, 5.0, -5.0, -60.0])
@pytest.mark.parametrize(
    "idea", ["same-wander-everywhere", "no-wander-at-poles", "wander-straight-with-latitude"]
)
def test_an_idea_about_how_much_keeps_which_way(idea: str, latitude_deg: float) -> None:
    true, believed = (rates(latitude_deg, 150.0, believed=one).earth_deg_h for one in (TRUTH, Belief(idea)))
    assert true * believed > 0.0


@pytest.mark.parametrize("latitude_deg", [60.0, 5.0, -5.0, -60.0])
@pytest.mark.parametrize("east_kt", [150.0, -150.0])
def test_the_same_journey_at_every_latitude_keeps_which_way(latitude_deg: float, east_kt: float) -> None:
    idea = Belief("journey-same-at-every-latitude")
    true, believed = (rates(latitude_deg, east_kt, believed=one).travel_deg_h for one in (TRUTH, idea))
    assert true * believed > 0.0


@pytest.mark.parametrize("latitude_deg", [60.0, -60.0])
@pytest.mark.parametrize("idea", ["rises-in-the-north", "falls-in-both-hemispheres"])
def test_an_idea_about_which_way_keeps_how_much(idea: str, latitude_deg: float) -> None:
    true, believed = (rates(latitude_deg, believed=one).earth_deg_h for one in (TRUTH, Belief(idea)))
    assert abs(believed) == pytest.approx(abs(true))


NORTHERN, SOUTHERN = r"northern hemisphere|north of the", r"southern hemisphere|south of"


def test_what_corrects_an_idea_is_true_in_both_hemispheres() -> None:
    """A sentence that tells of one of them tells of the other, so that it holds wherever the item is."""
    for id, mend in [(idea.id, idea.mend) for idea in ALL] + [(id, slip.mend) for id, slip in SLIPS.items()]:
        north, south = (re.search(half, mend, re.IGNORECASE) for half in (NORTHERN, SOUTHERN))
        assert bool(north) == bool(south), (id, mend)


def test_two_ideas_with_one_answer_are_both_named() -> None:
    """South of the equator a compass that always errs as in the north errs the wrong way round there."""
    model = model_named("turning-roll-out")
    drawn = {"heading_deg": 360.0, "bank_deg": 15.0, "dip_deg": -65.0}
    option = next(one for one in item_of(model, drawn).options if one.also)
    assert set(option.ideas) >= {"compass-lag-and-lead-exchanged", "compass-northern-everywhere"}
    assert BY_ID[option.ideas[0]].law == "compass-turn"
