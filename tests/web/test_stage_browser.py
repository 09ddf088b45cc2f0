"""The stage in a real browser: how large the instrument is, what one press shows, parts, tour, keys."""

from typing import Any

import pytest

from lubberline.simulation.scenes import scene_named
from tests.web.access import broken_rules
from tests.web.app_server import AppServer
from tests.web.bench_page import arrived, frame, when
from tests.web.bench_page import opened as on_bench
from tests.web.test_browser import SIZES, until

pytestmark = pytest.mark.browser

# Of a clock that nobody watches.
HASTE = 8.0
# Of a 2.5 degree drift: a class sees it without being told where to look.
SEEN_DEG = 2.5
SEEN = "(lubberline.cutaway.drawing?.seen('{}') ?? 0)"


def opened(page: Any, server: AppServer, query: str = "") -> str:
    """Opens a stage on a bench of its own."""
    return on_bench(page, server, query, path="/stage")


def drawn(page: Any, size: str) -> None:
    page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    until(page, f"innerWidth === {SIZES[size][0]}")


def share(page: Any) -> dict[str, float]:
    """What the instrument fills of the whole picture: its outline's area, height and width; and its edges."""
    found: dict[str, float] = page.evaluate(
        """() => {
            const { clientWidth, clientHeight } = document.querySelector('#cutaway canvas');
            const outline = lubberline.cutaway.drawing.outline();
            const [across, down] = [clientWidth / innerWidth, clientHeight / innerHeight];
            const { area, left, right, top, foot } = outline;
            const [wide, high] = [(right - left) * across, (foot - top) * down];
            return { ...outline, area: area * across * down, wide, high };
        }"""
    )
    return found


def seen(page: Any, part: str) -> float:
    """How much of the canvas's width or height a part takes up."""
    return float(page.evaluate(SEEN.format(part)))


def drawn_stage(page: Any, server: AppServer, query: str = "") -> None:
    """A stage with its cutaway, which stands still, and whose eye goes at once where it is sent."""
    page.emulate_media(reduced_motion="reduce")
    opened(page, server, query)
    until(page, "!document.querySelector('#cutaway-says') && !!lubberline.cutaway.drawing?.labels().length")
    # The button's word follows a little after the frames: a press in between would let it run on.
    for _ in range(4):
        if frame(page)["paused"]:
            return
        page.click("#pause")
        page.wait_for_timeout(1500)
    when(page, "f.paused")


def test_the_instrument_fills_the_picture(watched, server):
    page = watched.page
    drawn_stage(page, server)
    for size in ("projector", "laptop"):
        drawn(page, size)
        until(page, f"document.querySelector('#cutaway canvas').clientWidth > {0.65 * SIZES[size][0]}")
        page.wait_for_timeout(100)
        found = share(page)
        assert found["high"] >= 0.8, size
        assert found["area"] >= 0.28, size
        assert found["top"] > 0.0, size
        assert found["foot"] < 1.0, size
        assert page.evaluate("document.querySelector('#dial').clientHeight") >= 0.4 * SIZES[size][1], size
        beside = page.locator(".beside")
        assert beside.evaluate("one => one.scrollHeight <= one.clientHeight"), size
    drawn(page, "phone")
    until(page, "document.querySelector('#cutaway canvas').clientWidth === innerWidth")
    page.wait_for_timeout(100)
    assert share(page)["wide"] >= 0.85
    assert watched.complaints == []


def test_until_the_engine_answers_the_instrument_is_there_at_rest(wholly_watched, server):
    page = wholly_watched.page
    # Nobody answers at the other end, for good: so on a page that no other test has.
    page.route_web_socket("**", lambda _: None)
    page.set_viewport_size({"width": 640, "height": 400})
    page.goto(f"{server.address}/stage?bench=unanswered")
    until(page, "globalThis.lubberline?.cutaway?.drawing?.pictures > 0")
    assert page.inner_text("#cutaway-says") == "Getting the instrument ready…"
    assert seen(page, "case") > 0.5
    assert page.evaluate("lubberline.cutaway.drawing.labels().length") > 3


def test_a_press_on_a_part_or_its_name_brings_the_eye_there_with_the_names_kept(watched, server):
    page = watched.page
    page.set_viewport_size({"width": 1000, "height": 560})
    drawn_stage(page, server)
    box = page.locator("#cutaway canvas").first.bounding_box()
    whole = {part: seen(page, part) for part in ("bevel-gears", "rotor", "setting-knob", "lubber-line")}

    def press(x: float, y: float, part: str) -> None:
        page.mouse.click(box["x"] + x, box["y"] + y)
        until(page, f"document.querySelector('#part').value === '{part}'")
        until(page, f"{SEEN.format(part)} > {1.1 * whole[part]}")
        assert part in page.evaluate("lubberline.cutaway.drawing.labels().map(one => one.part)")
        page.keyboard.press("v")
        until(page, "document.querySelector('#part').value === ''")
        until(page, f"Math.abs({SEEN.format(part)} - {whole[part]}) < 0.05")

    place = page.evaluate(
        """() => {
            const { drawing } = lubberline.cutaway;
            for (let y = 200; y < 480; y += 10) for (let x = 150; x < 600; x += 10)
                if (drawing.pick(x, y) === 'bevel-gears') return [x, y];
        }"""
    )
    press(*place, "bevel-gears")
    # The names follow the eye with the next picture.
    page.wait_for_timeout(300)
    name = page.evaluate("lubberline.cutaway.drawing.labels().find(one => one.part === 'rotor').box")
    press((name["left"] + name["right"]) / 2, (name["top"] + name["bottom"]) / 2, "rotor")
    page.select_option("#part", "setting-knob")
    until(page, f"{SEEN.format('setting-knob')} > {1.2 * whole['setting-knob']}")


def test_a_name_in_the_tours_text_brings_the_eye_to_the_part(plainly_watched, server):
    page = plainly_watched.page
    opened(page, server, "&scene=how_it_works&step=6")
    page.click("#caption [data-part=lubber-line]")
    until(page, "document.querySelector('#part').value === 'lubber-line'")


def test_one_press_and_the_card_has_drifted_and_the_class_sees_why(hastily, server):
    page = hastily.page
    opened(page, server)
    assert not frame(page)["paused"], "it opens running"
    start = frame(page)["time_s"]
    page.click("#quarter")
    now = when(page, f"Math.abs(f.shown.error_deg) >= {SEEN_DEG}")
    # At the pace of the button a viewer has waited for this long.
    assert (now["time_s"] - start) / 60.0 <= 30.0
    until(page, "document.querySelector('#why').textContent.includes('has drifted')")
    told = page.locator("#why").inner_text()
    assert "The Earth has turned under the gyro" in told
    assert "Largest cause: apparent wander (Earth rate), −2." in told
    assert hastily.complaints == []


def test_the_sentence_names_the_largest_cause_of_the_errors_side(plainly_watched, server):
    page = plainly_watched.page
    opened(page, server, "&state=1_ind20")
    until(page, "document.querySelector('#why').textContent.includes('The card reads')")
    told = page.locator("#why").inner_text()
    assert "high." in told
    assert "the knob was turned" in told


def test_bench_and_stage_lead_to_each_other_with_the_state(plainly_watched, server):
    page = plainly_watched.page
    name = opened(page, server)
    page.click("#pump")
    before = when(page, "f.faults.pump === 1")
    page.keyboard.press("b")
    until(page, "location.pathname === '/bench' && !!globalThis.lubberline?.frame()")
    on_bench = when(page, "f.faults.pump === 1")
    assert on_bench["time_s"] >= before["time_s"]
    assert page.evaluate("new URLSearchParams(location.search).get('bench')") == name
    page.click("#pause")
    when(page, "f.paused")
    page.keyboard.press("g")
    until(page, "location.pathname === '/stage' && !!globalThis.lubberline?.frame()")
    page.wait_for_timeout(300)
    assert frame(page)["paused"], "a bench that is named is shown as it stands"
    assert frame(page)["faults"] == {"pump": 1.0}


def test_the_stage_opens_on_a_bench_that_runs_and_nothing_set_up_is_lost(plainly_watched, server):
    page = plainly_watched.page

    def go(path: str, condition: str) -> None:
        page.goto(server.address + path)
        arrived(page, path.partition("?")[0])
        when(page, condition)

    def kept(condition: str) -> None:
        # Long enough for an order to be carried out that would change it.
        page.wait_for_timeout(300)
        when(page, condition)

    go("/stage?scene=how_it_works&step=4", "f.step === 4")
    go("/stage", "f.scene === null && !f.paused && f.driver")
    assert page.locator("#scene-title").text_content() == "The heading indicator"
    assert page.locator("#tourbar").is_hidden()
    page.click("#pump")
    when(page, "f.faults.pump === 1")
    go("/stage?scene=how_it_works&step=5", "f.step === 5 && f.faults.pump === undefined")
    page.click("#pump")
    when(page, "f.faults.pump === 1")
    # The same step of the same tour, loaded again, stands as it was left.
    page.reload()
    arrived(page, "/stage")
    kept("f.step === 5 && f.faults.pump === 1")
    go("/stage", "f.scene === null && f.driver")
    kept("f.faults.pump === 1")
    # A scene on the very bench stands as it was left, until somebody leaves it.
    go("/bench?bench=main&scene=rigidity", "f.scene === 'rigidity' && !f.paused && f.time_s > 1")
    page.click("#pause")
    left = when(page, "f.paused")["time_s"]
    go("/stage", f"f.scene === 'rigidity' && f.time_s >= {left}")
    kept(f"f.scene === 'rigidity' && f.paused && f.time_s === {left}")
    page.click("#leave-scene")
    when(page, "f.scene === null && !f.paused && f.time_s < 5 && f.faults.pump === undefined")
    until(page, "document.querySelector('#scene-title').textContent === 'The heading indicator'")
    assert page.locator("#leave-scene").is_hidden()


def test_the_screen_is_full_or_blank_by_key_and_press(plainly_watched, server):
    page = plainly_watched.page
    opened(page, server)
    page.keyboard.press("f")
    until(page, "document.fullscreenElement !== null")
    assert page.locator(".masthead").is_hidden()
    until(page, "document.querySelector('#full-screen').textContent === 'Leave full screen'")
    page.click("#full-screen")
    until(page, "document.fullscreenElement === null")
    for back in (lambda: page.keyboard.press("x"), lambda: page.mouse.click(500, 300)):
        page.evaluate("document.activeElement.blur()")
        page.keyboard.press("0")
        until(page, "document.querySelector('#blank').open")
        box = page.locator("#blank").bounding_box()
        assert (box["width"], box["height"]) == (1366, 768)
        assert broken_rules(page, "#blank") == []
        back()
        until(page, "!document.querySelector('#blank').open")


def test_the_five_actions_have_their_keys(hastily, server):
    page = hastily.page
    opened(page, server)
    page.keyboard.press("t")
    when(page, "f.truth.turn_rate_deg_s > 1")
    page.keyboard.press("t")
    page.keyboard.press("p")
    when(page, "f.shown.gauge_inhg < 0.2")
    page.keyboard.press("u")
    when(page, "f.gyro.on_stop")
    page.keyboard.press("s")
    when(page, "f.since_set_s < 20")
    page.keyboard.press("q")
    when(page, "f.pace === 60")
    page.keyboard.press(" ")
    when(page, "f.paused")
    page.keyboard.press("d")
    until(page, "document.querySelector('#dial svg').ariaLabel.startsWith('Magnetic compass')")


def test_a_tour_is_led_by_key_and_press_with_its_step_in_the_address(plainly_watched, server):
    page = plainly_watched.page
    steps = scene_named("how_it_works").steps
    opened(page, server, "&scene=how_it_works&step=3")
    when(page, "f.step === 3")
    until(page, f"document.querySelector('#scene-title').textContent === {steps[2].entry.title!r}")
    assert page.locator("#caption").inner_text().startswith("The aircraft turns from north to east.")
    page.keyboard.press("n")
    when(page, "f.step === 4")
    until(page, "location.search.endsWith('scene=how_it_works&step=4')")
    page.click("[data-page=step-back]")
    when(page, "f.step === 3")
    page.keyboard.press("Backspace")
    when(page, "f.step === 2")
    until(page, "document.querySelector('#dial svg').ariaLabel.startsWith('Rotor')")
    assert page.locator("#step-number").text_content() == f"2 of {len(steps)}"
    assert broken_rules(page) == []
    # What was tried in a step is gone when it is opened again.
    page.click("#pump")
    when(page, "f.faults.pump === 1")
    page.keyboard.press("n")
    assert when(page, "f.step === 3")["faults"] == {}


def test_a_tour_ends_at_its_ends_and_a_step_that_is_not_there_is_refused(plainly_watched, server):
    page = plainly_watched.page
    steps = scene_named("how_it_works").steps
    opened(page, server, f"&scene=how_it_works&step={len(steps)}")
    when(page, f"f.step === {len(steps)}")
    until(page, "document.querySelector('[data-page=step-next]').disabled")
    assert page.locator("[data-page=step-back]").is_enabled()
    opened(page, server, "&scene=how_it_works&step=99")
    until(page, "document.querySelector('#refused').textContent.includes('has no step 99')")


def test_a_scene_asks_first_on_the_stage_as_well(plainly_watched, server):
    page = plainly_watched.page
    opened(page, server, "&scene=rigidity")
    until(page, "document.querySelector('.question') !== null")
    when(page, "f.scene === 'rigidity' && f.paused")
    page.click(".question >> text=Run it")
    until(page, "document.querySelector('.watch')?.textContent.includes('axis')")


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.acceptance)])
def test_it_keeps_the_access_rules_and_fits_every_screen(plainly_watched, server, scheme):
    page = plainly_watched.page
    page.emulate_media(color_scheme=scheme)
    opened(page, server)
    for size, (width, _) in SIZES.items():
        drawn(page, size)
        until(page, f"document.documentElement.scrollWidth <= {width}", patience_s=5.0)
        assert broken_rules(page) == [], size
