"""What is taken from the bench: a picture, a strip, an address, a scene."""

import json
import re
import tomllib
from typing import Any
from urllib.parse import parse_qs
from xml.etree import ElementTree

import pytest

from tests.chromium import PLAIN
from tests.web.bench_page import choose, next_name, opened, when
from tests.web.test_browser import until

pytestmark = pytest.mark.browser

# Of a clock that nobody watches.
HASTE = 5.0
SVG = "{http://www.w3.org/2000/svg}"


def saved(page: Any, action: str) -> bytes:
    with page.expect_download() as coming:
        page.click(f"[data-page={action}]")
    return bytes(coming.value.path().read_bytes())


def test_a_moment_and_six_of_them_go_on_paper(hastily, server):
    page = hastily.page
    opened(page, server)
    page.click("#turn")
    when(page, "f.time_s > 4")
    page.click("#pause")
    now = when(page, "f.paused")
    choose(page, "keep")
    picture = ElementTree.fromstring(saved(page, "picture-svg"))
    assert picture.tag == f"{SVG}svg"
    texts = ["".join(text.itertext()) for text in picture.iter(f"{SVG}text")]
    assert f"{round(now['shown']['indicated_deg']) % 360:03d}" in texts
    assert any("not an instrument" in text for text in texts)
    for part in picture.iter():
        assert not {"class", "style"} & set(part.attrib)
        assert not any("var(" in value for value in part.attrib.values())
    assert saved(page, "picture-png").startswith(b"\x89PNG")
    strip = ElementTree.fromstring(saved(page, "strip-svg"))
    titles = ["".join(text.itertext()) for text in strip.iter(f"{SVG}text")]
    assert [title[0] for title in titles if re.fullmatch(r"[1-6]\d:\d\d:\d\d", title)] == list("123456")
    page.click("#mark")
    page.click("#mark")
    assert page.locator("#mark").text_content() == "Mark this moment (2 of 6)"
    strip = ElementTree.fromstring(saved(page, "strip-svg"))
    titles = ["".join(text.itertext()) for text in strip.iter(f"{SVG}text")]
    assert len([title for title in titles if re.fullmatch(r"[1-6]\d:\d\d:\d\d", title)]) == 2


def test_the_address_brings_the_same_bench_and_a_scene_can_be_saved(plainly_watched, server, browser):
    page = plainly_watched.page
    opened(page, server)
    choose(page, "faults")
    page.click("[data-fault=bearings]")
    when(page, "f.faults.bearings === 1")
    choose(page, "keep")
    page.click("[data-page=copy-address]")
    until(page, "document.querySelector('#address').value.includes('state=')")
    address = page.input_value("#address")
    assert "bearings" in address
    scene = tomllib.loads(saved(page, "save-scene").decode())
    assert {"id", "title", "start"} <= set(scene)
    context = browser.new_context()
    context.add_init_script(PLAIN)
    other = context.new_page()
    other.goto(re.sub(r"bench=[a-z0-9-]+", f"bench={next_name()}", address))
    until(other, "!!globalThis.lubberline?.frame()")
    when(other, "f.faults.bearings === 1")
    context.close()


def test_a_flight_is_kept_with_the_moves_of_the_camera_and_captions(hastily, server):
    page = hastily.page
    sent = []
    page.route("**/bench/keep", lambda route: (sent.append(route.request.post_data), route.abort()))
    opened(page, server)
    first = when(page, "f.time_s > 2")["time_s"]
    page.click("[data-page=cut-case]")
    second = when(page, f"f.time_s > {first + 3}")["time_s"]
    page.click("[data-page=cut-explode]")
    when(page, f"f.time_s > {second + 2}")
    page.click("#pause")
    now = when(page, "f.paused")["time_s"]
    choose(page, "keep")
    page.click("[data-page=caption-now]")
    page.keyboard.type("Here.")
    page.click("[data-keeps] button:not([type])")
    while not sent:
        page.wait_for_timeout(20)
    form = parse_qs(sent[0])
    views = json.loads(form["camera"][0])
    before, case, apart = views[-3:]
    assert before["hide_case"] != case["hide_case"] == apart["hide_case"]
    assert (before["explode"], case["explode"], apart["explode"]) == (0, 0, 1)
    assert first <= case["at_s"] < second <= apart["at_s"] <= now
    assert form["captions"] == [f"{now:.1f}: Here."]
