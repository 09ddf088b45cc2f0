"""The cutaway's pictures: their resolution, edges, light, and what they are built from."""

import re
import struct
from typing import Any

import pytest

from tests.web.cutaway_page import drawn, opened
from tests.web.test_browser import until

pytestmark = pytest.mark.browser


def test_it_draws_under_the_pages_policy_and_asks_for_nothing_outside(watched, cutaway_address):
    page = opened(watched, cutaway_address)
    page.evaluate("probe.draw(probe.shows.finger(2), {showAir: true, showArrows: true, explode: 0.5})")
    assert [said for said in watched.complaints if "favicon" not in said and "404" not in said] == []
    assert all(url.startswith(cutaway_address.rsplit("/", 1)[0]) for url in watched.requests)


def test_the_same_frame_gives_the_same_picture(drawing):
    taken = drawing.evaluate(
        """() => ['finger', 'tumble', 'finger'].map(name => {
            probe.draw(probe.shows[name](2), {showAir: true, showArrows: true});
            const [picture, letters] = document.querySelectorAll('canvas');
            return picture.toDataURL() + letters.toDataURL(); })"""
    )
    assert taken[0] == taken[2]
    assert taken[0] != taken[1]
    assert len(taken[0]) > 20_000


def test_nothing_is_built_again_from_frame_to_frame(drawing):
    view = "{showAir: true, showArrows: true}"
    before = drawn(drawing, "probe.shows.finger(0)", view)["geometries"]
    for second in range(1, 10):
        after = drawn(drawing, f"probe.shows.finger({second})", view)["geometries"]
        assert after == before


def test_a_picture_takes_at_most_three_hundred_draw_calls(drawing):
    view = "{showAir: true, showArrows: true, hideCase: false, explode: 0.5}"
    measured = drawn(drawing, "probe.shows.finger(2)", view)
    assert 30 < measured["calls"] <= 300


def test_occlusion_is_in_the_model_so_that_plain_pictures_have_it_too(drawing):
    openness = drawing.evaluate("probe.cutaway.openness()")
    # The foot of a gear's tooth, between two of them, gets less light than its top.
    assert openness["bevel-gears"][0] < 0.75 < openness["bevel-gears"][1] <= 1
    assert all(0.2 < low <= high <= 1 for low, high in openness.values())
    assert {"rotor", "inner-gimbal", "bevel-gears", "case"} <= set(openness)
    # Bodies take light from one another: the shaft of a bearing from its balls and its race.
    assert openness["bearings"][0] < 0.5


def test_a_light_that_was_worked_out_for_other_shapes_is_refused(watched, cutaway_address):
    def shortened(route: Any) -> None:
        answer = route.fetch()
        found = re.search(r"[0-O]{9000,}", answer.text())
        assert found, "the light is in the page's script"
        route.fulfill(response=answer, body=answer.text().replace(found[0], found[0][1:]))

    watched.page.route("**/*.js", shortened)
    watched.page.goto(f"{cutaway_address}?quality=plain")
    until(watched.page, "document.readyState === 'complete'")
    assert any("the light was worked out for" in said for said in watched.complaints)


def test_a_picture_of_any_moment_has_its_size_and_leaves_the_screen_alone(drawing):
    head = drawing.evaluate(
        """async () => {
            const {cutaway, shows} = probe;
            const shot = () => (probe.draw(shows.level(1)), document.querySelector('canvas').toDataURL());
            const before = shot();
            const blob = await cutaway.renderTo(640, 360, shows.tumble(1), probe.camera(), probe.view());
            const bytes = new Uint8Array(await blob.slice(0, 24).arrayBuffer());
            return { bytes: [...bytes], size: blob.size, same: before === shot() }; }"""
    )
    signature, width, height = struct.unpack(">8s8xII", bytes(head["bytes"]))
    assert signature == b"\x89PNG\r\n\x1a\n"
    assert (width, height) == (640, 360)
    assert head["size"] > 5_000
    assert head["same"]


# Along the left outline, row by row: how much of what is inside the first point has that is not ground.
COVERED = """() => {
    const camera = {look: 'instrument', orbit_deg: 58, height_deg: 11};
    probe.draw(probe.shows.level(2), {showArrows: false}, camera);
    const canvas = document.querySelector('canvas');
    const {width, height} = canvas;
    const pen = new OffscreenCanvas(width, height).getContext('2d');
    pen.drawImage(canvas, 0, 0);
    const points = pen.getImageData(0, 0, width, height).data;
    const green = (x, y) => points[4 * (y * width + x) + 1];
    const shares = [];
    for (let y = Math.round(0.2 * height); y < 0.5 * height; y++) {
        let x = 1;
        while (x < width - 3 && Math.abs(green(x, y) - green(0, y)) < 4) x += 1;
        shares.push((green(x, y) - green(0, y)) / (green(x + 2, y) - green(0, y)));
    }
    return shares; }"""


def test_edges_are_smooth_while_it_moves(drawing):
    shares = drawing.evaluate(COVERED)
    assert len(shares) > 100
    between = [share for share in shares if 0.1 < share < 0.9]
    assert len(between) > 0.2 * len(shares), "steps of whole points"
    assert len({round(share, 1) for share in between}) > 4, "more than one shade"


def test_a_slow_machine_gets_the_plain_level_and_a_quick_one_the_finest_again(drawing):
    levels = drawing.evaluate(
        """() => {
            const slow = new probe.Governor(false);
            const seen = [60, 60, 60].map((ms, i) => (slow.took(ms, 1000 * i), slow.level));
            const early = [5, 5, 5, 5, 5, 5].map((ms, i) => (slow.took(ms, 3000 + 300 * i), slow.level));
            const later = [5, 5, 5, 5, 5, 5].map((ms, i) => (slow.took(ms, 1e6 + 1000 * i), slow.level));
            return { seen, early, later }; }"""
    )
    assert levels["seen"] == ["finest", "plain", "plain"]
    assert set(levels["early"]) == {"plain"}, "it must not swing back at once"
    assert levels["later"][-1] == "finest"


def test_without_graphics_hardware_the_level_stays_and_the_rate_gives_way(drawing):
    levels = drawing.evaluate(
        """() => {
            const software = new probe.Governor(true);
            return [90, 350, 350, 5, 5].map((ms, i) => (software.took(ms, 1000 * i), software.level)); }"""
    )
    assert set(levels) == {"plain"}


def test_the_screens_own_resolution_moving_and_still_and_the_finest_level_once_nothing_moves(
    wholly_watched, cutaway_address
):
    page = opened(wholly_watched, cutaway_address, "")
    page.set_viewport_size({"width": 300, "height": 200})
    points = "(c => [c.width / c.clientWidth, c.height / c.clientHeight])(document.querySelector('canvas'))"
    page.evaluate("probe.draw(probe.shows.level(2))")
    page.wait_for_timeout(100)
    assert page.evaluate(points) == [1, 1]
    assert page.evaluate("[probe.cutaway.quality, probe.cutaway.finest]") == ["plain", False]
    until(page, "probe.cutaway.finest")
    assert page.evaluate(points) == [1, 1]
    page.evaluate("probe.draw(probe.shows.level(2))")
    assert page.evaluate("probe.cutaway.finest"), "nothing moved"
    page.evaluate("probe.draw(probe.shows.level(3))")
    assert not page.evaluate("probe.cutaway.finest"), "something moved"
