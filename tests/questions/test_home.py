"""Questions at a school's home: near it, in its hemisphere, with a share that asks about elsewhere."""

import re

import msgspec
import pytest

from lubberline.flight.home import Home
from lubberline.publish.papers.sheets import paper_pdf
from lubberline.questions.bank import models
from lubberline.questions.belief import TRUTH
from lubberline.questions.blueprint import Blueprint, blueprint_from_text
from lubberline.questions.generate import generate, make, wrong_answers
from lubberline.questions.item import Item
from lubberline.questions.locked_papers import locked_from_text, locked_text
from lubberline.questions.models.terms import BY_SCENE, term_by_ledger
from lubberline.questions.models.terms import SOUTH as SOUTH_SCENES
from lubberline.questions.panel_figures import needle_inhg
from lubberline.questions.papers import Paper, assemble
from lubberline.store.fleet import demo_folder
from tests.questions.item_checks import check_item

SOUTH = Home("Kauri Flat", -43.4, 172.2, 300.0, "Pacific/Auckland", paper="Letter")
NORTH = Home("Lichen Strand", 65.0, 25.4, 50.0, "Europe/Helsinki")
EQUATOR = Home("Palm Landing", 0.5, 100.0)
LATITUDE = re.compile(r"(\d+)° ([NS])\b")
# These ask about another place by their nature: a nut set for home elsewhere, one place of two.
OF_TWO_PLACES = ("balance-elsewhere", "balance-claims", "balance-find-transport", "wander-faster-of-two")
FINAL = (demo_folder() / "papers" / "heading_instruments.toml").read_text(encoding="utf-8")


def texts(item: Item) -> str:
    told = (f"{one.text} {one.feedback}" for one in (*item.options, *item.slips))
    return " ".join([item.stem, item.reason, *told])


@pytest.mark.parametrize("home", [SOUTH, NORTH, EQUATOR], ids=lambda home: home.place)
def test_every_model_keeps_its_promises_at_home_and_far_from_it(home: Home) -> None:
    for seed, model in enumerate(models().values()):
        for far in (False, True):
            assert check_item(model, make(model, seed, home, far=far).item) == [], (model.id, far)


def test_no_question_at_home_speaks_of_the_other_hemisphere_alone() -> None:
    for home, here, there in ((SOUTH, "southern", "northern"), (NORTH, "northern", "southern")):
        for seed in range(3):
            for model in models().values():
                item = make(model, seed, home).item
                assert there not in item.stem, item.id
                assert there not in texts(item) or here in texts(item), (item.id, texts(item))
                if model.id in OF_TWO_PLACES or model.kind == "statement":
                    continue
                for size, side in LATITUDE.findall(item.stem):
                    assert side == here[0].upper(), item.stem
                    assert abs(int(size) - abs(home.latitude_deg)) <= 22, item.stem


def test_every_situation_of_the_south_is_the_error_that_it_is_called() -> None:
    for scene in SOUTH_SCENES.values():
        assert term_by_ledger(scene) == BY_SCENE[scene], scene


def test_far_from_home_is_mostly_the_other_hemisphere() -> None:
    model = models()["wander-rate"]
    places = [LATITUDE.findall(make(model, seed, SOUTH, far=True).item.stem)[0] for seed in range(40)]
    assert 20 < sum(side == "N" for _, side in places) < 40


def test_without_a_home_nothing_is_placed_and_a_seed_gives_what_it_gave() -> None:
    for model in models().values():
        made = make(model, 7)
        assert not made.placed
        assert made.item == generate(model, 7)


def elsewhere(paper: Paper, home: Home) -> list[bool]:
    """For each question with one latitude or hemisphere in its stem, whether it is the other one."""
    found = []
    for item in paper.items:
        sides = {side for _, side in LATITUDE.findall(item.stem)}
        sides |= {word[0].upper() for word in re.findall("northern|southern", item.stem)}
        if len(sides) == 1 and item.model not in OF_TWO_PLACES:
            found.append(sides != {home.hemisphere[0].upper()})
    return found


def test_a_paper_stands_at_home_and_a_share_of_it_elsewhere() -> None:
    blueprint = blueprint_from_text("blueprint", FINAL)
    near, all_ = 0, 0
    for seed in range(4):
        papers = assemble(blueprint, seed, home=SOUTH)
        for paper in papers:
            other = elsewhere(paper, SOUTH)
            near, all_ = near + other.count(False), all_ + len(other)
        assert any(True in elsewhere(paper, SOUTH) for paper in papers), seed
    assert 0.65 < near / all_ < 0.95
    # Nothing elsewhere where the blueprint says so.
    only_home = msgspec.structs.replace(blueprint, elsewhere=0.0, forms=("A",))
    assert not any(elsewhere(assemble(only_home, 1, home=SOUTH)[0], SOUTH))


def test_a_blueprint_may_say_its_own_home() -> None:
    text = f"{FINAL.replace('total = 30', 'total = 30{}elsewhere = 0.5', 1).format(chr(10))}"
    text += '\n[home]\nplace = "Lichen Strand"\nlatitude_deg = 65.0\nlongitude_deg = 25.4\n'
    blueprint = blueprint_from_text("blueprint", text)
    papers = assemble(blueprint, 1, home=SOUTH)
    assert papers[0].blueprint.set_at == Home("Lichen Strand", 65.0, 25.4)
    for wrong, where in (("elsewhere = 1.5", "elsewhere"), ("elsewhere = 'x'", "elsewhere")):
        with pytest.raises(ValueError, match=where):
            blueprint_from_text("blueprint", text.replace("elsewhere = 0.5", wrong))
    with pytest.raises(ValueError, match="blueprint, home, time_zone"):
        blueprint_from_text("blueprint", f'{text}time_zone = "Mars"\n')


def test_a_kept_paper_has_its_home_and_prints_again_to_the_byte() -> None:
    papers = assemble(small(), 3, home=SOUTH)
    again = locked_from_text("lock", locked_text(papers))
    assert again == papers
    assert again[0].blueprint.set_at == SOUTH
    assert paper_pdf(again[0]) == paper_pdf(papers[0])
    # Without a home, a lock is what it was before there was one.
    assert '"home"' not in locked_text(assemble(small(), 3))


def small() -> Blueprint:
    return blueprint_from_text("small", 'title = "Small"\n[[topic]]\nname = "wander"\napply = 2\n')


def test_the_rules_of_home_are_asked_about_where_the_blueprint_names_none() -> None:
    home = msgspec.structs.replace(NORTH, regulations="Canada")
    text = 'title = "Rules"\njurisdiction = "Canada"\n[[topic]]\nname = "regulations"\nrecall = 1\n'
    asked = assemble(blueprint_from_text("rules", text), 1, home=home)[0]
    assert asked.items[0].jurisdiction == "Canada"
    assert small().at(home).jurisdiction == "Canada"


METRIC = msgspec.structs.replace(SOUTH, suction="hPa")


def test_questions_in_hectopascals_are_those_in_inches_with_all_their_pressures() -> None:
    """1 inHg is 33.86389 hPa (conventional inch of mercury at 0 C: ISO 80000 rounds it to 3386.389 Pa)."""
    changed = 0
    for seed, model in enumerate(models().values()):
        inches, metric = (make(model, seed, home).item for home in (SOUTH, METRIC))
        told = f"{texts(metric)} {metric.unit} {metric.source} {metric.figure}"
        assert not re.search("inHg|inch|mercury", told), (model.id, told)
        if model.id == "gauge-reading":
            continue
        assert metric.key == inches.key
        changed += metric != inches
        for one, other in zip(
            (*inches.options, *inches.slips), (*metric.options, *metric.slips), strict=True
        ):
            assert one.ideas == other.ideas
            if inches.unit == "inHg":
                assert one.value is not None
                assert other.value == pytest.approx(33.86389 * one.value, abs=2.2)
                assert f"{other.value:g}" in other.text
                values = [option.value for option in metric.options]
                assert len({*values}) == len(values)
    assert changed > 8
    # The bound of the model is kept to a hectopascal, and the second way gives the key of the item.
    for seed in range(8):
        model = models()["venturi-at-speed"]
        item = make(model, seed, METRIC).item
        assert item.answer == round(33.86389 * model.second(item.drawn, TRUTH))
        assert item.tolerance == 5.0


def test_a_gauge_in_hectopascals_is_read_by_its_own_figures() -> None:
    model = models()["gauge-reading"]
    for seed in range(12):
        item = make(model, seed, METRIC).item
        key = item.options[item.key].value
        assert key is not None
        assert key % 5.0 == 0.0
        assert item.figure is not None
        [needle] = needle_inhg(item.figure.svg)
        assert 33.86389 * needle == pytest.approx(key, abs=1.0)
        assert 33.86389 * float(model.second(item.drawn, TRUTH)) == pytest.approx(key, abs=1.0)
        assert ">50</text>" in item.figure.svg
        assert ">8</text>" not in item.figure.svg
        below = 25.0 * (key // 25.0)
        assert f"between the marks of {below:g} and {below + 25.0:g}" in item.figure.alt
        answers = {one.idea: one.value for one in wrong_answers(model, item)}
        assert answers["gauge-figure-above"] == key + 50.0
