"""The page of the scenes, without and with script."""

import re
from typing import Any

import pytest

from lubberline.simulation.scenes import Library, library
from lubberline.store.fleet import demo_home
from tests.web.access import broken_rules
from tests.web.caller import Caller


def test_every_scene_is_listed_with_its_picture_and_opens_on_the_stage(call: Caller) -> None:
    html = call.get("/scenes").text
    for id, scene in library().items():
        assert f'<a href="/stage?scene={id}">{scene.entry.title}</a>' in html.replace("&#39;", "'")
        assert f'src="/scenes/{id}/picture.svg' in html
        assert (f'href="/bench?scene={id}"' in html) == (not scene.steps)


def test_a_picture_is_sent_once_and_kept_by_the_browser(call: Caller) -> None:
    answer = call.get("/scenes/rigidity/picture.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.headers["cache-control"] == "private, max-age=3600"
    assert answer.text.startswith("<svg ")
    assert call.get("/scenes/none/picture.svg").status_code == 422


@pytest.mark.browser
def test_scenes_are_found_by_their_words_and_opened_by_keyboard(watched: Any, served: str) -> None:
    page = watched.page
    page.goto(f"{served}scenes")
    listed = page.locator("#scenes > li:visible")
    assert listed.count() == len(Library(home=demo_home()))
    page.fill("#words", "latitude  NUT")
    assert listed.locator("h2").all_inner_texts() == ["A latitude nut in the other hemisphere"]
    assert page.inner_text("#found") == f"1 of {len(Library(home=demo_home()))} scenes"
    page.fill("#words", "nothing of the kind")
    assert listed.count() == 0
    page.fill("#words", "rigidity in space")
    assert broken_rules(page) == []
    page.focus("#words")
    page.keyboard.press("Tab")
    assert re.search(r"/stage\?scene=", page.evaluate("document.activeElement.href"))
    assert watched.complaints == []
