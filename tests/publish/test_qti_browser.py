"""Every kind of question, in a renderer by others: the key scores 1, everything else 0, feedback shown."""

import pytest

from lubberline.publish.papers.answers import right_bounds
from lubberline.publish.papers.qti import identifier_of, package_files
from lubberline.publish.papers.qti_names import QTI_30
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.questions.item import LETTERS, Item
from tests.chromium import missing

from .made_up_paper import whole
from .qti_page import RENDERER, answered, opened, served
from .test_answers import north_item


@pytest.fixture
def page(browser):
    if not RENDERER.is_dir():
        missing("the renderer is not installed: python -m tools.start.pages renderer")
    page = browser.new_page()
    page.asked = []
    page.on("request", lambda request: page.asked.append(request.url))
    yield page
    page.close()


def check_choice(page, item: Item) -> None:
    assert page.locator("qti-simple-choice").count() == len(item.options)
    for place, option in enumerate(item.options):
        word, score = ("Right", 1) if place == item.key else ("Wrong", 0)
        found = answered(page, LETTERS[place])
        assert found["score"] == score, (item.id, LETTERS[place])
        assert found["said"] == [f"{word}. {' '.join(option.feedback.split())}"]


def check_number(page, item: Item) -> None:
    ends = [end for ends in right_bounds(item) for end in ends]
    for typed in ends:
        found = answered(page, typed)
        assert (found["score"], found["feedback"]) == (1, "RIGHT"), (item.id, typed)
        assert found["said"] == [f"Right. {item.reason}"]
    for place, slip in enumerate(item.slips, start=1):
        found = answered(page, str(slip.value))
        assert (found["score"], found["feedback"]) == (0, f"SLIP{place}"), (item.id, slip.value)
        assert slip.feedback in found["said"][0]
    for typed in (str(float(ends[-1]) + 0.01), "-987.5", ""):
        found = answered(page, typed)
        assert found["score"] == 0, (item.id, typed)
        assert found["said"][0].startswith("Wrong.")


def check(page, items: tuple[Item, ...], tmp_path) -> None:
    with served(tmp_path, package_files(items, "A paper", QTI_30)) as address:
        page.goto(address)
        for item in items:
            opened(page, identifier_of(item))
            (check_number if item.kind == "number" else check_choice)(page, item)
            if item.figure:
                loaded = "image => image.decode().then(() => image.naturalWidth > 0)"
                assert page.locator("qti-item-body img").evaluate(loaded)
        assert all(url.startswith((address, "data:")) for url in page.asked)


@pytest.mark.browser
def test_every_kind_of_question_scores_as_keyed(page, tmp_path):
    check(page, whole(6).items, tmp_path)


@pytest.mark.browser
def test_an_item_of_every_model_scores_as_keyed(page, tmp_path):
    items = tuple(generate(model, 1) for model in models().values())
    check(page, (*items, north_item()), tmp_path)


@pytest.mark.browser
def test_a_person_clicks_types_and_reads_the_feedback(page, tmp_path):
    items = whole(6).items
    with served(tmp_path, package_files(items, "A paper", QTI_30)) as address:
        page.goto(address)
        opened(page, identifier_of(items[0]))
        page.locator("qti-simple-choice").nth(items[0].key).click()
        said = page.get_by_text(f"Right. {items[0].options[items[0].key].feedback}", exact=True)
        assert not said.is_visible()
        assert answered(page, None, close=False)["score"] == 1
        assert said.is_visible()
        opened(page, identifier_of(items[4]))
        page.locator("qti-text-entry-interaction input").press_sequentially("7.25")
        found = answered(page, None)
        assert (found["score"], found["feedback"]) == (1, "RIGHT")
