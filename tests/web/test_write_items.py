"""The page on which a question is written by hand: its preview, its advice, and what is refused."""

from html import unescape
from typing import Any

import pytest

from lubberline.web.app import create_app
from lubberline.web.questions.items import SAMPLE
from tests.web.caller import Caller
from tests.web.test_browser import until
from tests.web.test_questions import HOSTILE, Read, refused


@pytest.fixture(scope="module")
def ask() -> Caller:
    return Caller(create_app())


def test_an_item_by_hand_is_previewed_with_its_key_and_advice(ask: Caller) -> None:
    sample = Read(ask.get("/questions/write").text)
    assert "Key: A" in sample.text
    assert "No advice on its wording" in sample.text
    # The longest option is the key: the first fault of wording in the lists of item-writing guidelines.
    longer = SAMPLE.replace(
        "at the equator", "at the equator, where its axis is level with the Earth's axis, 0°"
    )
    read = Read(ask.post("/questions/write", data={"text": longer}).text)
    assert "No advice on its wording" not in read.text
    assert "the key is by far the longest option" in read.text


def test_keys_of_many_items_by_hand_are_looked_at_together(ask: Caller) -> None:
    many = "".join(
        SAMPLE.replace("no apparent wander", f"no apparent wander {number}") for number in range(5)
    )
    read = Read(ask.post("/questions/write", data={"text": many}).text)
    assert "5 items" in read.text
    assert "A is right 5 times in a row" in read.text


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("- [x]", "- [ ]", "no option is marked as the key"),
        ("- [ ] at 45", "- [x] at 45", "2 options are marked as the key (lines 9 and 11)"),
        ("topic: wander", "topic: <b>", "text, line 3: there is no topic '<b>'"),
        ("# Where", "Where", "text, line 1: text before the first title"),
        ("wander\n", "wander\n\x07\n", "cannot be printed"),
    ],
)
def test_a_wrong_item_by_hand_is_told_with_its_line(ask: Caller, old: str, new: str, told: str) -> None:
    answer = ask.post("/questions/write", data={"text": SAMPLE.replace(old, new)})
    assert answer.status_code == 422
    assert told in refused(answer.text)
    assert [given["id"] for _, given in Read(answer.text).tags if given.get("aria-invalid")] == ["text"]


def test_the_text_of_an_item_is_shown_and_given_back_as_it_was(ask: Caller) -> None:
    hostile = SAMPLE.replace("heading indicator", f"heading indicator </textarea>{HOSTILE}")
    html = ask.post("/questions/write", data={"text": hostile.replace("\n", "\r\n")}).text
    assert [tag for tag, _ in Read(html).tags].count("script") == 1
    assert hostile in unescape(html)
    answer = ask.post("/questions/write/items.md", data={"text": hostile.replace("\n", "\r\n")})
    assert answer.text == hostile
    assert answer.headers["content-disposition"] == 'attachment; filename="items.md"'


@pytest.mark.browser
def test_advice_comes_while_the_item_is_written(watched: Any, served: str) -> None:
    page = watched.page
    page.goto(served + "questions/write")
    until(page, "document.documentElement.dataset.script === 'on'")
    page.fill("#text", SAMPLE.replace("At which place is", "At which place is it not true that"))
    page.wait_for_selector(".advice:has-text('easily overlooked')")
    assert page.evaluate("document.activeElement.id") == "text"
    page.fill("#text", SAMPLE.replace("[x]", "[ ]"))
    page.wait_for_selector("#refused p:has-text('no option is marked as the key')")
    assert page.locator("#text").input_value() == SAMPLE.replace("[x]", "[ ]")
