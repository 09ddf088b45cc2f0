"""Making items: the same seed the same item, every promise kept, whatever is drawn."""

import dataclasses
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.questions.bank import LEVELS, TOPICS, model_named, models, models_of
from lubberline.questions.bank_changes import placeholders, reworded
from lubberline.questions.generate import CannotDrawError, generate, item_of
from lubberline.questions.item import Item
from lubberline.questions.model import COMMON, ItemModel
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID
from tests.questions.item_checks import Report, check_item, check_many

SEEDS = st.integers(0, 2**48)
MODELS = list(models().values())


@pytest.fixture(scope="module")
def thousand() -> Report:
    """A thousand items, made and checked."""
    return check_many(1000, 20)


def test_a_thousand_items_keep_their_promises(thousand: Report) -> None:
    assert thousand.clean, thousand.sentence() + "\n" + "\n".join(thousand.faults)
    assert len(thousand.by_model) == len(MODELS)
    assert thousand.distinct > 500
    assert len(thousand.proved) > 200


def test_at_most_one_wrong_option_in_ten_names_no_idea(thousand: Report) -> None:
    assert 0 < thousand.plain < 0.1 * thousand.options


@pytest.mark.acceptance
def test_a_hundred_thousand_items_keep_their_promises() -> None:
    report = check_many(100_000, 1)
    print(report.sentence())
    assert report.clean, report.sentence() + "\n" + "\n".join(report.faults)


@given(model=st.sampled_from(MODELS), seed=SEEDS)
def test_any_seed_gives_a_right_item(model: ItemModel, seed: int) -> None:
    item = generate(model, seed)
    assert check_item(model, item) == []
    assert item == generate(model, seed)
    assert item_of(model, item.drawn, 3).answer == item.answer
    assert 0.0 < item.difficulty < 1.0


def test_another_process_makes_the_same_items() -> None:
    told = "from lubberline.questions.bank import models; from lubberline.questions.generate import generate;"
    told += "print(','.join(generate(m, 7).id for m in list(models().values())[:20]))"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.strip().split(",") == [generate(model, 7).id for model in MODELS[:20]]


def test_there_are_sixty_models_on_every_topic_and_level() -> None:
    assert len(MODELS) >= 60
    assert {model.level for model in MODELS} == set(LEVELS)
    assert {model.kind for model in MODELS} == {"choice", "number", "statement"}
    for topic in TOPICS:
        assert any(models_of(topic, level, "Canada") for level in LEVELS), topic


def test_every_distractor_is_somebodys_idea_and_says_so() -> None:
    known = set(BY_ID) | set(SLIPS)
    for model in MODELS:
        assert set(model.words.feedback) <= known, model.id
        item = generate(model, 5)
        for option in (*item.options, *item.slips):
            if option.misconception:
                assert option.misconception in known
                assert option.feedback


def test_no_slip_has_the_name_of_a_misconception_and_all_are_used() -> None:
    assert not set(SLIPS) & set(BY_ID)
    used = {idea for model in MODELS for idea in model.words.feedback}
    assert set(SLIPS) <= used


def test_stems_ask_without_no_and_not_and_state_what_they_need() -> None:
    for model in MODELS:
        for seed in range(5):
            stem = generate(model, seed).stem
            assert not re.search(r"\bwhich\b[^.]*\b(not|except|never)\b", stem, re.IGNORECASE), stem
            assert not stem.startswith(" ")


def test_the_key_has_no_fixed_place_among_the_options(thousand: Report) -> None:
    """Of four options the key should stand at each place now and then, over the whole bank."""
    places = thousand.key_places
    counted = sum(places.values())
    assert all(places[place] > 0.05 * counted for place in range(4)), places


def test_figures_have_words_and_are_plain_drawings() -> None:
    for model in MODELS:
        figure = generate(model, 2).figure
        if figure is not None:
            assert len(figure.alt) > 40
            assert figure.svg.startswith("<svg")
            assert figure.svg.count("<svg") == 1
            assert "<script" not in figure.svg


def _broken(model: ItemModel, **changes: object) -> ItemModel:
    return dataclasses.replace(model, **changes)  # type: ignore[arg-type]


def test_a_wrong_key_is_found_by_the_second_way() -> None:
    model = model_named("wander-rate")
    wrong = _broken(model, second=lambda d, believed: -1.2 * model.second(d, believed))  # type: ignore[operator]
    assert "unconfirmed" in check_item(wrong, generate(model, 1))


def test_a_second_right_answer_is_found() -> None:
    model = model_named("wander-rate")
    item = generate(model, 1)
    other = next(option.value for option in item.options if option.misconception)
    lenient = _broken(model, also_right=lambda d: (other,))
    assert check_item(lenient, item) == ["second_right"]


def test_what_is_right_by_another_road_never_becomes_a_distractor() -> None:
    model = model_named("wander-rate")
    other = next(option.value for option in generate(model, 1).options if option.misconception)
    lenient = _broken(model, also_right=lambda d: (other,), least=1)
    assert other not in [option.value for option in generate(lenient, 1).options]


def test_options_too_near_each_other_are_found() -> None:
    model = model_named("wander-rate")
    assert "repeated" in check_item(_broken(model, apart=30.0), generate(model, 1))


def test_a_model_that_can_never_satisfy_says_so() -> None:
    with pytest.raises(CannotDrawError, match="all collide"):
        generate(_broken(model_named("wander-rate"), apart=300.0), 1)


def test_words_can_be_changed_and_sums_stay() -> None:
    model = model_named("wander-rate")
    other = reworded(model, {"stem": "At {latitude}, standing: what happens to the reading?"})
    assert generate(other, 3).stem.startswith("At ")
    assert generate(other, 3).options == generate(model, 3).options


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"stem": "At {latitud}?"}, "latitude"),
        ({"stem": "At {latitude?"}, "brace"),
        ({"steem": "At {latitude}?"}, "stem"),
        ({"reason": "  "}, "empty"),
    ],
)
def test_words_that_do_not_fit_are_refused(changes: dict[str, str], told: str) -> None:
    with pytest.raises(InputError, match=told):
        reworded(model_named("wander-rate"), changes)


def test_no_template_asks_for_a_value_that_is_not_there() -> None:
    """Every text of every model can be filled from what the model works out, used in this item or not."""
    for model in MODELS:
        words = model.words
        for seed in range(10):
            worked = model.work(generate(model, seed).drawn)
            given_here = set(worked.facts) | {"key", "this", "phrase", "because"}
            texts = [words.stem, words.reason, *words.feedback.values(), *words.options.values()]
            texts += [words.phrases.get(worked.phrase, ""), words.phrases.get(f"{worked.phrase} because", "")]
            for text in texts:
                assert placeholders(text) <= given_here, (model.id, text)


def test_an_unknown_model_is_named_with_the_nearest() -> None:
    with pytest.raises(InputError, match="wander-rate"):
        model_named("wander-rat")


def test_nothing_printed_says_from_memory_and_light_aircraft_fly_at_most_200_kt() -> None:
    for model in MODELS:
        assert "memory" not in model.source, model.id
    for id in ("wander-transport-rate", "wander-on-a-leg"):
        assert all(abs(generate(model_named(id), seed).drawn["east_kt"]) <= 200.0 for seed in range(12))  # type: ignore[arg-type]


def _texts(item: Item) -> list[str]:
    return [item.stem, item.reason, *(option.feedback for option in (*item.options, *item.slips))]


def _sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.?!:])\s+(?=[A-Z])", text) if len(part.split()) > 3]


# A document that a reader can find.
DOCUMENT = re.compile(
    r"FAA-H-\d|AC \d|CFR|SOR/|AFPAM \d|Handbook of Magnetic Compass|Compass Errors \(|US patent|No 965/2012"
)


def test_sources_are_documents_or_common_practice() -> None:
    for model in MODELS:
        assert bool(DOCUMENT.search(model.source)) != (model.source == COMMON), (model.id, model.source)
        assert "memory" not in model.source


def _faults_of_wording(item: Item) -> list[str]:
    """Half sentences, sentences said twice, and the like in the texts of an item."""
    found = []
    for text in _texts(item):
        said = [" ".join(sentence.lower().split()) for sentence in _sentences(text)]
        if len(set(said)) != len(said):
            found.append(f"twice: {text}")
        if re.search(r"(?<!\.)\.\.(?!\.)|\s[.,;]|\bthe the\b|\b(\w+) \1 \1\b|\(\)|  ", text):
            found.append(f"punctuation: {text}")
        if not text.rstrip().endswith((".", "?", ")", ":")) or not (
            text[0].isupper() or text[0] in "+−0123456789"
        ):
            found.append(f"half a sentence: {text}")
    if re.match(r"(It|Its|This|That|They|These|Those|He|She)\b", item.reason):
        found.append(f"about what: {item.reason}")
    if item.stem.rstrip().endswith(":") or "?" not in item.stem:
        found.append(f"asks nothing: {item.stem}")
    return found


def _walk(seeds: int) -> list[str]:
    return [
        fault
        for model in MODELS
        for seed in range(seeds)
        for fault in _faults_of_wording(generate(model, seed))
    ]


def test_stems_and_feedback_are_whole_sentences_said_once() -> None:
    assert _walk(1) == []


@pytest.mark.acceptance
def test_stems_and_feedback_of_twenty_seeds_are_whole_sentences() -> None:
    assert _walk(20) == []


def test_the_numbers_of_a_reason_add_up_to_its_key() -> None:
    """As printed: who adds them up has to find the key to its last digit."""
    summed = 0
    for model in MODELS:
        for seed in range(6):
            item = generate(model, seed)
            worked = model.work(item.drawn)
            if worked.parts:
                told = sum(round(part, 1) for part in worked.parts)
                assert abs(told - round(float(worked.key), 1)) < 0.01, item.reason
                summed += 1
    assert summed >= 20


def test_a_correction_card_says_in_its_drawing_what_its_reason_says() -> None:
    for seed in range(12):
        item = generate(model_named("compass-correction-card"), seed)
        assert item.figure is not None
        drawn = set(re.findall(r"for (\d{3}) steer (\d{3})", item.figure.alt))
        told = re.findall(r"for (\d{3})° steer (\d{3})°", item.reason)
        assert len(told) == 2
        assert set(told) <= drawn, item.reason


IN_TURNS = (
    "turning-through-north-or-south",
    "turning-speeding-up",
    "turning-roll-out",
    "turning-claims",
    "setting-in-a-turn",
)


@pytest.mark.parametrize("id", IN_TURNS)
def test_a_compass_turn_says_which_model_or_rule_it_goes_by(id: str) -> None:
    for seed in range(3):
        stem = generate(model_named(id), seed).stem
        assert "square to apparent gravity" in stem or "usual rule" in stem


def test_a_verdict_says_its_allowance_and_what_the_earth_has_to_do_with_it() -> None:
    stem = generate(model_named("wander-verdict"), 1).stem
    assert "allowance" in stem
    assert "leaves out apparent wander" in stem


def test_no_aircraft_flies_faster_than_a_light_one() -> None:
    for model in models_of("wander", "apply") + models_of("wander", "judge") + models_of("balance", "judge"):
        for seed in range(4):
            item = generate(model, seed)
            texts = [item.stem, f"{item.answer or 0:.0f} {item.unit}"]
            speeds = [float(one) for one in re.findall(r"(\d+) kt", " ".join(texts))]
            assert all(speed <= 205.0 for speed in speeds), (item.id, speeds)


@pytest.mark.parametrize(("first", "second", "key"), [(5.0, 355.0, "10° E"), (355.0, 5.0, "10° W")])
def test_a_difference_across_north_is_east_if_it_is_clockwise(first: float, second: float, key: str) -> None:
    drawn = {
        "asked": "variation",
        "first_deg": first,
        "second_deg": second,
        "third_deg": (second + 3.0) % 360.0,
    }
    item = item_of(model_named("compass-name-the-difference"), drawn)
    assert item.options[item.key].text == key
    assert ("anticlockwise" in item.reason) == key.endswith("W")
    assert "larger" not in item.reason


def test_the_steps_of_the_check_are_in_their_order() -> None:
    """The order is that of FAA-H-8083-15A, chapter 3: before the start, taxiing, before take-off."""
    drawn = {"done": "turn", "shown": "switch+knob+run-up+stop"}
    item = item_of(model_named("check-what-it-proves"), drawn)
    assert item.options[item.key].text.startswith("reading the suction gauge at the run-up")
    assert {idea for option in item.options for idea in option.ideas} == {
        *("step-left-out", "straight-to-the-last-step", "step-done-again", "begun-again")
    }


@pytest.mark.parametrize(
    ("moment", "to_do"),
    [
        ("approach turn", "let the compass come to rest"),
        ("aerobatics after", "fly level"),
        ("circuit before", "set it to the compass now"),
        ("aerobatics before", "cage it"),
        ("approach final", "leave it"),
    ],
)
def test_each_kind_of_flight_has_its_moment_to_set(moment: str, to_do: str) -> None:
    recent = 20.0 if moment in ("approach turn", "circuit before") else 5.0
    item = item_of(model_named("procedure-by-kind-of-flight"), {"moment": moment, "set_min": recent})
    assert item.options[item.key].text.startswith(to_do)
