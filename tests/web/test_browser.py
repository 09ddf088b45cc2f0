"""The real page in a real browser: drawn, changed, driven by keys, checked for access."""

import json
import math
import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic

from lubberline.publish.figures.causes import look_of
from lubberline.units import NM_M
from tests.web.access import broken_rules

pytestmark = pytest.mark.browser

SIZES = {"projector": (1920, 1080), "laptop": (1366, 768), "phone": (390, 844)}
TRACK = """time_utc,latitude_deg,longitude_deg,altitude_m
""" + "".join(
    f"2026-05-01T10:{second // 60:02d}:{second % 60:02d}Z,45.0,{1 + second * 7e-4:.5f},600\n"
    for second in range(0, 600, 5)
)


def until(page: Any, condition: str, patience_s: float = 20.0) -> None:
    """Waits for a condition; Playwright's own waiting is stopped by the page's policy against eval."""
    end = time.monotonic() + patience_s
    while not holds(page, condition):
        assert time.monotonic() < end, condition
        page.wait_for_timeout(50)


def holds(page: Any, condition: str) -> bool:
    """Whether it holds; not while another page is on its way in."""
    from playwright.sync_api import Error

    try:
        return bool(page.evaluate(condition))
    except Error as error:
        if "context was destroyed" not in str(error):
            raise
        return False


def opened(watched: Any, address: str, query: str = "") -> Any:
    page = watched.page
    page.goto(f"{address}flights{query}")
    page.wait_for_selector("#chart-ledger canvas")
    until(page, "document.querySelector('#moment dd')?.textContent.length > 0")
    page.evaluate("document.querySelector('#more').open = true")
    return page


def after_flying(page: Any, change: Callable[[], Any]) -> dict[str, Any]:
    """Does the change and waits for the answer and its drawing; gives the answer."""
    with page.expect_response(lambda response: response.url.endswith("/api/fly")) as answered:
        change()
    answer: dict[str, Any] = answered.value.json()
    if "title" in answer:
        until(page, f"location.search.startsWith({json.dumps(answer['address'])})")
    return answer


def now(page: Any) -> dict[str, str]:
    return dict(
        page.eval_on_selector_all(
            "#moment div, #details div",
            "all => all.map(one => [...one.children].map(part => part.textContent))",
        )
    )


def test_everything_is_drawn_and_nothing_leaves_this_machine(watched, served):
    page = opened(watched, served)
    assert page.locator(".chart canvas").count() == 5
    assert page.locator("#route svg path.flown").get_attribute("d").count("L") > 100
    painted = page.eval_on_selector(
        "#chart-ledger canvas",
        """canvas => new Set(new Uint32Array(
            canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data.buffer)).size""",
    )
    assert painted > 20
    assert watched.complaints == []
    assert all(url.startswith((served, "data:")) for url in watched.requests)


def test_the_ledger_is_the_strip_of_the_page_and_the_map_is_small(watched, served):
    page = watched.page
    page.goto(f"{served}flights?fault=filter@20&set_every_min=30")
    page.wait_for_selector("#chart-ledger canvas")
    until(page, "document.querySelector('#moment dd')?.textContent.length > 0")
    assert page.locator("#more summary").text_content() == "Settings and faults: 2 set"
    share = """one => { const { width, height, bottom } = one.getBoundingClientRect();
        return [width * height / innerWidth / innerHeight, bottom]; }"""
    strip, foot = page.eval_on_selector("#chart-ledger .plot", share)
    assert strip >= 0.3
    assert foot <= page.evaluate("document.querySelector('#timebar').getBoundingClientRect().top")
    assert page.eval_on_selector("#route", share)[0] <= 0.1
    # On a phone it comes before its sentence, and is seen whole.
    page.set_viewport_size({"width": 390, "height": 844})
    page.reload()
    page.wait_for_selector("#chart-ledger canvas")
    until(page, "document.querySelector('#moment dd')?.textContent.length > 0")
    foot = page.eval_on_selector("#chart-ledger .plot", share)[1]
    assert foot <= page.evaluate("document.querySelector('#timebar').getBoundingClientRect().top")
    assert foot <= page.evaluate("document.querySelector('.sentence').getBoundingClientRect().top")


def test_another_flight_another_aircraft_and_the_way_back(watched, served):
    page = opened(watched, served)
    title = page.locator("h1").text_content()
    other = after_flying(page, lambda: page.select_option("#flight", "westbound_35s"))
    assert other["title"] != title
    assert page.locator("h1").text_content() == other["title"]
    aircraft = after_flying(page, lambda: page.select_option("#aircraft", "zz_ash"))
    assert aircraft["sentence"] != other["sentence"]
    assert "flight=westbound_35s&aircraft=zz_ash" in page.url
    page.goto(page.url)
    page.wait_for_selector("#chart-ledger canvas")
    assert page.locator("h1").text_content() == other["title"]
    page.go_back()
    until(page, f"document.querySelector('h1')?.textContent === {json.dumps(other['title'])}")
    assert watched.complaints == []


def test_a_fault_and_the_interval_change_what_is_shown(watched, served):
    page = opened(watched, served, "?flight=westbound_35s")
    healthy = page.locator(".sentence").text_content()
    failed = after_flying(page, lambda: page.select_option("[name=fault_name]", "pump"))
    assert failed["asked"]["faults"] == ["pump@0"]
    worse = after_flying(
        page, lambda: page.fill("[name=fault_at_min] >> nth=0", "30") or page.keyboard.press("Tab")
    )
    assert worse["asked"]["faults"] == ["pump@30"]
    assert any(event["words"].startswith("fault pump") for event in worse["events"])
    assert page.locator(".fault").count() == 2
    often = after_flying(page, lambda: page.fill("#set_every_min", "10") or page.keyboard.press("Tab"))
    assert len(often["events"]) > len(worse["events"])
    assert page.locator(".sentence").text_content() != healthy
    believed = after_flying(page, lambda: page.select_option("#believe", "same-wander-everywhere"))
    assert believed["believed"][0]["id"] == "same-wander-everywhere"
    assert page.locator(".idea").text_content().count(believed["believed"][0]["mending"]) == 1
    assert "with the wrong idea" in now(page)


def test_what_cannot_be_is_said_and_the_last_flight_stays(watched, served):
    page = opened(watched, served)
    after_flying(page, lambda: page.fill("#wind", "strong") or page.keyboard.press("Tab"))
    until(page, "document.querySelector('#refused').textContent.includes('240/18')")
    assert page.locator(".chart canvas").count() == 5
    after_flying(page, lambda: page.fill("#wind", "240/18") or page.keyboard.press("Tab"))
    assert page.locator("#refused").text_content().strip() == ""


def drop(page: Any, name: str, text: str) -> None:
    transfer = page.evaluate_handle(
        """([name, text]) => { const given = new DataTransfer();
            given.items.add(new File([text], name)); return given; }""",
        [name, text],
    )
    page.dispatch_event("main", "dragover", {"dataTransfer": transfer})
    page.dispatch_event("main", "drop", {"dataTransfer": transfer})


def test_a_dropped_file_is_flown(watched, served):
    page = opened(watched, served)
    answer = after_flying(page, lambda: drop(page, "eastbound.csv", TRACK))
    assert answer["asked"]["flight"].startswith("file:")
    assert answer["time_s"][-1] == pytest.approx(595, abs=1)
    assert "eastbound" in page.locator("#flight option:checked").text_content()


def test_a_chosen_file_that_is_no_flight_is_refused_by_name(watched, served):
    page = opened(watched, served)
    page.set_input_files("#file", {"name": "notes.csv", "mimeType": "text/csv", "buffer": b"a,b\n1,2\n"})
    until(page, "document.querySelector('#refused').textContent.includes('notes.csv')")


@pytest.mark.parametrize("held", ["#time", "#chart-ledger .plot", "#chart-heading .plot"])
def test_keys_move_the_moment_everywhere(watched, served, held):
    page = opened(watched, served)
    page.focus(held)
    page.keyboard.press("End")
    end = now(page)
    page.keyboard.press("Home")
    assert now(page)["since the start"] == "0:00:00"
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowRight")
    assert re.fullmatch(r"0:03:(0[6-9]|1[0-4])", now(page)["since the start"])
    assert now(page)["since the start"] != end["since the start"]
    until(page, "document.querySelector('#spoken').textContent.startsWith('0:03:')")
    spoken = page.locator("#spoken").text_content()
    assert re.search(r"indicated \d{3}, magnetic \d{3}, error", spoken)
    until(page, "/at_s=1[89]\\d/.test(location.search)")


def test_the_mouse_on_a_chart_moves_the_mark_on_the_route_and_the_numbers(watched, served):
    page = opened(watched, served)
    before = page.locator("#route .now").get_attribute("transform")
    page.evaluate("document.querySelector('#chart-heading').scrollIntoView({block: 'center'})")
    box = page.locator("#chart-heading .u-over").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 20)
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + 20)
    shown = now(page)
    assert shown["since the start"] > "1:00:00"
    assert page.locator("#route .now").get_attribute("transform") != before
    error = float(shown["error"].replace("−", "-"))
    total = float(page.locator("[data-now=total_deg]").text_content().replace("−", "-"))
    assert error == pytest.approx(total, abs=0.11)
    parts = page.locator("tbody [data-now]").all_text_contents()
    assert sum(float(part.replace("−", "-")) for part in parts) == pytest.approx(total, abs=0.05 * len(parts))


def places(page: Any) -> tuple[tuple[float, float], tuple[float, float]]:
    """Start and end of the drawn route, in pixels right of and below the sheet's corner."""
    drawn = page.locator("#route path.flown").get_attribute("d")
    points = re.findall(r"([-\d.]+) ([-\d.]+)", drawn)
    return (float(points[0][0]), float(points[0][1])), (float(points[-1][0]), float(points[-1][1]))


@pytest.mark.parametrize("flight", ["eastbound_60n", "northbound_equator", "westbound_35s"])
def test_the_route_is_true_to_scale_and_north_up(watched, served, flight):
    """Distance and direction against the geodesic (geographiclib); the sheet is flat within a percent."""
    page = watched.page
    with page.expect_response(lambda response: response.url.endswith("/api/fly")) as answered:
        opened(watched, served, f"?flight={flight}")
    trace = answered.value.json()["trace"]
    latitude, longitude = trace["latitude_deg"], trace["longitude_deg"]
    truth = Geodesic.WGS84.Inverse(latitude[0], longitude[0], latitude[-1], longitude[-1])
    start, end = places(page)
    bar = re.search(r"M12 .*H([\d.]+)V", page.locator(".scale path").get_attribute("d"))
    length_nm = float(page.locator(".scale text").text_content().split()[0])
    px_per_nm = (float(bar[1]) - 12) / length_nm
    right, up = end[0] - start[0], start[1] - end[1]
    assert math.hypot(right, up) / px_per_nm == pytest.approx(truth["s12"] / NM_M, rel=0.01)
    middle = Geodesic.WGS84.Direct(latitude[0], longitude[0], truth["azi1"], truth["s12"] / 2)["azi2"]
    assert math.degrees(math.atan2(right, up)) == pytest.approx(middle, abs=2)


def test_the_earths_band_hangs_below_the_balance_in_the_north(watched, served):
    page = opened(watched, served, "?flight=eastbound_60n")
    heights = page.eval_on_selector(
        "#chart-ledger canvas",
        """(canvas, wanted) => {
            const {width, height} = canvas;
            const {data} = canvas.getContext('2d').getImageData(0, 0, width, height);
            return wanted.map(([r, g, b]) => {
                let sum = 0, count = 0;
                for (let at = 0; at < width * height; at += 1)
                    if (data[4 * at] === r && data[4 * at + 1] === g && data[4 * at + 2] === b) {
                        sum += Math.floor(at / width); count += 1; }
                return count > 200 ? sum / count : null; }); }""",
        [list(bytes.fromhex(look_of(cause).fill[1:])) for cause in ("earth", "balance")],
    )
    assert None not in heights
    assert heights[0] > heights[1] + 10


def test_a_click_holds_the_moment_until_the_next(watched, served):
    page = opened(watched, served)
    box = page.locator("#chart-ledger .u-over").bounding_box()
    y = box["y"] + 10
    page.mouse.click(box["x"] + box["width"] * 0.75, y)
    held = now(page)["since the start"]
    page.mouse.move(box["x"] + box["width"] * 0.25, y)
    assert now(page)["since the start"] == held
    assert page.locator("#shortly").text_content().startswith("held at " + held)
    page.mouse.click(box["x"] + box["width"] * 0.25, y)
    page.mouse.move(box["x"] + box["width"] * 0.5, y)
    assert now(page)["since the start"] < held


def test_nearer_shows_a_shorter_stretch_and_the_address_keeps_it(watched, served):
    page = opened(watched, served, "?at_s=3000")
    page.click("#nearer")
    until(page, "location.search.includes('from_s=')")
    kept = page.url
    page.click("#whole")
    until(page, "!location.search.includes('from_s=')")
    page.goto(kept)
    until(page, "document.querySelector('#moment dd')?.textContent.length > 0")
    page.wait_for_timeout(500)
    assert page.url == kept


def test_a_form_that_takes_a_while_says_so_and_is_sent_once(watched, served):
    page = watched.page
    page.goto(f"{served}school/people")
    sent, said = page.evaluate(
        """() => {
            const button = document.querySelector('[data-busy] button');
            let sent = 0;
            button.form.addEventListener('submit', (event) => {
                sent += !event.defaultPrevented;
                event.preventDefault();
            });
            button.click();
            button.click();
            return [sent, button.form.querySelector('[role=status]').textContent];
        }"""
    )
    assert sent == 1
    assert said.startswith("Loading the demo class")


def test_the_switch_of_scheme_is_remembered(watched, served):
    page = opened(watched, served)
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    light = page.evaluate(paper)
    page.click("#theme")
    dark = page.evaluate(paper)
    assert dark != light
    page.goto(f"{served}flights")
    assert page.evaluate(paper) == dark


def test_no_size_scrolls_sideways(watched, served):
    page = watched.page
    opened(watched, served, "?aircraft=zz_ash&believe=same-wander-everywhere&fault=filter@20&fault=pump=1@60")
    # Zoom of 200 % on 1366 by 768 is a window half as wide and high.
    for width, height in (*SIZES.values(), (683, 384)):
        page.set_viewport_size({"width": width, "height": height})
        until(page, f"innerWidth === {width}")
        # The charts are drawn anew when the window has stood still for a moment.
        until(page, f"document.documentElement.scrollWidth <= {width}", patience_s=5.0)


# The dark one is among the long runs.
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.acceptance)])
def test_no_violation_of_access_rules(watched, served, scheme):
    page = watched.page
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    opened(watched, served, "?believe=same-wander-everywhere&fault=filter@20")
    for size in ("laptop", "phone"):
        page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
        assert broken_rules(page) == [], size


def test_without_script_the_form_and_the_numbers_work(browser, served):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{served}flights")
    page.select_option("[name=fault_name] >> nth=0", "pump")
    page.fill("[name=fault_at_min] >> nth=0", "30")
    page.click("text=Fly it")
    page.wait_for_url("**/*fault=pump@30*")
    assert page.locator("table.account tbody tr").count() > 2
    assert page.locator("#charts").is_hidden()
    context.close()
