"""The cutaway in a browser: what is drawn is measured in the drawn geometry, not in its inputs.

The laws it must obey: torque is the rate of change of angular momentum, T = precession x H (any textbook
of mechanics), so that the axis goes toward the torque; equal mitre gears turn by equal angles; a free
gyro's axis stays while the case turns about it. The way of the gears, jets and stops: common practice,
no source.
"""

import json
import math
import re
import struct
from collections.abc import Iterator
from typing import Any

import msgspec
import numpy as np
import pytest

from lubberline.instruments.heading_indicator.averaged import precession
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroLaws
from lubberline.instruments.heading_indicator.torques import Moment, gimbals_of
from lubberline.simulation.live.parts import PARTS
from lubberline.simulation.scenes import library
from tests.chromium import missing
from tests.web import cutaway_page
from tests.web.test_browser import until
from tools.start.pages import PagesError

pytestmark = pytest.mark.browser

ATTITUDES = [(0, 0, 0), (75, 0, 45), (200, 20, -60), (310, -35, 10), (140, 70, 150)]


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("cutaway")
    try:
        cutaway_page.build(folder)
    except PagesError as error:
        missing(str(error))
    with cutaway_page.served(folder) as found:
        yield found


def opened(watched: Any, address: str, query: str = "quality=plain") -> Any:
    page = watched.page
    page.goto(f"{address}?{query}")
    page.wait_for_selector("html[data-ready]")
    return page


def drawn(page: Any, frame: str, view: str = "{}", camera: str = "{}") -> dict[str, Any]:
    """Draws a frame (a JavaScript expression on the probe) and measures the picture."""
    script = f"() => {{ probe.draw({frame}, {view}, {camera}); return probe.cutaway.measure(); }}"
    measured: dict[str, Any] = page.evaluate(script)
    return measured


def flown(
    heading: float, pitch: float, bank: float, axis: float, lift: float = 0.0, card: float = 0.0
) -> str:
    names = ("heading_deg", "pitch_deg", "bank_deg", "axis_deg", "lift_deg", "set_deg")
    values = dict(zip(names, (heading, pitch, bank, axis, lift, card), strict=True))
    return f"probe.frameOf({json.dumps(values)}, 1)"


def level_axis(azimuth_deg: float, lift_deg: float) -> np.ndarray:
    a, e = math.radians(azimuth_deg), math.radians(lift_deg)
    return np.array([math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), -math.sin(e)])


def test_it_draws_under_the_pages_policy_and_asks_for_nothing_outside(watched, address):
    page = opened(watched, address)
    page.evaluate("probe.draw(probe.shows.finger(2), {showAir: true, showArrows: true, explode: 0.5})")
    assert [said for said in watched.complaints if "favicon" not in said and "404" not in said] == []
    assert all(url.startswith(address.rsplit("/", 1)[0]) for url in watched.requests)


def test_the_drawn_card_shows_the_indicated_heading_under_the_lubber_line(watched, address):
    page = opened(watched, address)
    frame = flown(120, 0, 0, 40)
    for indicated in (0, 37.5, 90, 183, 359):
        changed = f"(f => ({{...f, shown: {{...f.shown, indicated_deg: {indicated}}}}}))({frame})"
        measured = drawn(page, changed)
        assert math.remainder(measured["card_deg"] - indicated, 360) == pytest.approx(0, abs=1e-6)


def test_the_axis_stays_while_the_case_turns_about_it(watched, address):
    page = opened(watched, address)
    for attitude in ATTITUDES:
        measured = drawn(page, flown(*attitude, 65, 8))
        assert measured["spin"] == pytest.approx(level_axis(65, 8), abs=1e-9), attitude


def test_the_gears_carry_the_gimbals_turn_to_the_card(watched, address):
    page = opened(watched, address)
    first = drawn(page, flown(10, 0, 0, 40, 0, 25))
    second = drawn(page, flown(75, 0, 0, 40, 0, 25))
    for measured in (first, second):
        assert measured["gear_deg"] == pytest.approx(measured["gimbal_deg"], abs=1e-6)
    turned = math.remainder(second["card_deg"] - first["card_deg"], 360)
    assert turned == pytest.approx(65, abs=1e-6), "a right turn of 65 must raise the reading by 65"
    assert second["gimbal_deg"] - first["gimbal_deg"] == pytest.approx(-65, abs=1e-6)
    # Rolled on each other without slip: where they mesh, both rims go the same way at the same speed.
    mesh = np.array([-1.0, 0.0, 1.0])
    gimbal = np.cross([0, 0, second["gimbal_deg"] - first["gimbal_deg"]], mesh)
    gear = np.cross([second["gear_deg"] - first["gear_deg"], 0, 0], mesh)
    assert gear == pytest.approx(gimbal, abs=1e-6)


def test_the_jets_blow_in_the_sense_of_rotation(watched, address):
    page = opened(watched, address)
    for attitude in ATTITUDES[:3]:
        measured = drawn(page, flown(*attitude, 65), "{showAir: true}")
        # The nozzles are on the vertical gimbal: a tilted rim leaves their plane a little.
        assert np.dot(measured["jet"], measured["rim_motion"]) > 0.9, attitude


def test_precession_is_at_right_angles_and_takes_the_axis_toward_the_torque(watched, address):
    page = opened(watched, address)
    for inner, outer in ((3e-6, 0), (0, 1e-3), (0, -1e-3), (-2e-5, 4e-5)):
        for lift in (0, 25):
            precesses_rightly(page, inner, outer, lift)


def precesses_rightly(page: Any, inner: float, outer: float, lift: float) -> None:
    torques = f"{{torque_inner_nm: {inner}, torque_outer_nm: {outer}}}"
    frame = f"probe.withGyro({flown(30, 5, 20, 65, lift)}, {torques})"
    measured = drawn(page, frame, "{showArrows: true}")
    spin, torque = np.array(measured["spin"]), np.array(measured["torque"])
    turning, going = np.array(measured["precession"]), np.array(measured["going"])
    assert np.dot(turning, spin) == pytest.approx(0, abs=1e-9)
    assert np.dot(turning, torque) == pytest.approx(0, abs=1e-9)
    across = torque - np.dot(torque, spin) * spin
    expected = across / np.linalg.norm(across)
    assert np.cross(turning, spin) == pytest.approx(expected, abs=1e-9)
    assert going == pytest.approx(expected, abs=1e-9)


def engine_moment(heading: float, pitch: float, bank: float, finger_nm: float) -> Moment:
    """The engine's moment in an attitude, with the finger's torque alone."""
    (sh, ch), (sp, cp), (sb, cb) = (
        (math.sin(math.radians(angle)), math.cos(math.radians(angle))) for angle in (heading, pitch, bank)
    )
    axes = {
        "nose": (cp * ch, cp * sh, -sp),
        "wing": (sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * cp),
        "floor": (cb * sp * ch + sb * sh, cb * sp * sh - sb * ch, cb * cp),
    }
    named = {
        f"{axis}_{way}": value
        for axis, values in axes.items()
        for way, value in zip("ned", values, strict=True)
    }
    still = dict.fromkeys(Moment._fields, 0.0) | {"friction_rate_rad_s": 1.0, "momentum_nms": 0.0724}
    return Moment(**still | named | {"finger_nm": finger_nm})


@pytest.mark.parametrize("finger_nm", [0.001, -0.0004])
def test_the_picture_of_an_engines_gyro_has_its_axis_and_goes_where_the_engine_takes_it(
    watched, address, finger_nm
):
    page = opened(watched, address)
    attitude, axis = (75, 10, 30), level_axis(65, 8)
    moment = engine_moment(*attitude, finger_nm)
    gimbals = gimbals_of(*axis, moment)
    outer = math.degrees(math.atan2(gimbals.outer_sin, gimbals.outer_cos))
    tilt = math.degrees(math.atan2(gimbals.tilt_sin, gimbals.tilt_cos))
    still = Gyro(outer_friction_nm=0.0, inner_friction_nm=0.0)
    moved = precession(*axis, 0.0, moment, still, GyroLaws())
    change = {"outer_deg": outer, "tilt_deg": tilt, "torque_outer_nm": finger_nm, "finger_nm": finger_nm}
    frame = f"probe.withGyro({flown(*attitude, 0)}, {json.dumps(change)})"
    measured = drawn(page, frame, "{showArrows: true}")
    assert measured["spin"] == pytest.approx(axis, abs=1e-9)
    rate = np.array([moved.spin_n, moved.spin_e, moved.spin_d])
    assert measured["going"] == pytest.approx(rate / np.linalg.norm(rate), abs=1e-6)


def test_the_same_frame_gives_the_same_picture(watched, address):
    page = opened(watched, address)
    taken = page.evaluate(
        """() => ['finger', 'tumble', 'finger'].map(name => {
            probe.draw(probe.shows[name](2), {showAir: true, showArrows: true});
            const [picture, letters] = document.querySelectorAll('canvas');
            return picture.toDataURL() + letters.toDataURL(); })"""
    )
    assert taken[0] == taken[2]
    assert taken[0] != taken[1]
    assert len(taken[0]) > 20_000


def test_nothing_is_built_again_from_frame_to_frame(watched, address):
    page = opened(watched, address)
    view = "{showAir: true, showArrows: true}"
    before = drawn(page, "probe.shows.finger(0)", view)["geometries"]
    for second in range(1, 10):
        after = drawn(page, f"probe.shows.finger({second})", view)["geometries"]
        assert after == before


def test_a_picture_takes_at_most_three_hundred_draw_calls(watched, address):
    page = opened(watched, address)
    view = "{showAir: true, showArrows: true, hideCase: false, explode: 0.5}"
    measured = drawn(page, "probe.shows.finger(2)", view)
    assert 30 < measured["calls"] <= 300


def test_occlusion_is_in_the_model_so_that_plain_pictures_have_it_too(watched, address):
    page = opened(watched, address)
    openness = page.evaluate("probe.cutaway.openness()")
    # The foot of a gear's tooth, between two of them, gets less light than its top.
    assert openness["bevel-gears"][0] < 0.75 < openness["bevel-gears"][1] <= 1
    assert all(0.2 < low <= high <= 1 for low, high in openness.values())
    assert {"rotor", "inner-gimbal", "bevel-gears", "case"} <= set(openness)
    # Bodies take light from one another: the shaft of a bearing from its balls and its race.
    assert openness["bearings"][0] < 0.5


def test_a_light_that_was_worked_out_for_other_shapes_is_refused(watched, address):
    def shortened(route: Any) -> None:
        answer = route.fetch()
        found = re.search(r"[0-O]{9000,}", answer.text())
        assert found, "the light is in the page's script"
        route.fulfill(response=answer, body=answer.text().replace(found[0], found[0][1:]))

    watched.page.route("**/*.js", shortened)
    watched.page.goto(f"{address}?quality=plain")
    until(watched.page, "document.readyState === 'complete'")
    assert any("the light was worked out for" in said for said in watched.complaints)


def test_parts_are_picked_where_they_are_seen(watched, address):
    page = opened(watched, address, "quality=plain&look=card&orbit=0&height=0")
    card = page.evaluate("probe.cutaway.cardOnPicture()")
    pick = "([x, y]) => probe.cutaway.pick(x, y)"
    assert page.evaluate(pick, [card["x"], card["y"]]) == "lubber-line", "the aircraft mark on the window"
    assert page.evaluate(pick, [card["x"] + 0.8 * card["radius"], card["y"]]) == "card"
    # The knob's middle is 42.9 mm left and down of the card's, which measures 47 mm.
    shift = card["radius"] * 42.9 / 47 * 1.07
    assert page.evaluate(pick, [card["x"] - shift, card["y"] + shift]) == "setting-knob"
    assert page.evaluate(pick, [5, 5]) is None


def test_every_part_can_be_spoken_of_and_looked_at_by_the_id_that_the_program_reads(watched, address):
    page = opened(watched, address)
    assert page.evaluate("probe.PARTS") == PARTS
    unseen = page.evaluate(
        """ids => ids.filter(id => {
            const view = {showAir: true, showArrows: true, hideCase: false, spoken: id};
            const [near, far] = [probe.bestOf(id), {...probe.bestOf('air'), look: 'whole'}];
            probe.draw(probe.shows.level(1), view, near);
            const close = probe.cutaway.seen(id);
            probe.draw(probe.shows.level(1), view, far);
            return !(close > 0.3 || close > 1.5 * probe.cutaway.seen(id)); })""",
        list(PARTS),
    )
    assert unseen == [], "the eye goes there: the part is large in the picture, or larger than from afar"


def test_a_finger_on_the_card_is_a_torque_until_it_lets_go(watched, address):
    page = opened(watched, address, "quality=plain&look=card&orbit=0&height=0")
    card = page.evaluate("probe.cutaway.cardOnPicture()")
    page.mouse.move(card["x"] + 0.5 * card["radius"], card["y"])
    page.mouse.down()
    assert page.evaluate("probe.view().held") == "card"
    page.mouse.move(card["x"] - 0.5 * card["radius"], card["y"])
    page.mouse.up()
    told = [float(word.split()[1]) for word in page.evaluate("probe.told")]
    assert told[0] == pytest.approx(0.001, rel=0.05)
    assert min(told) == pytest.approx(-0.001, rel=0.05)
    assert told[-1] == 0
    assert page.evaluate("probe.view().held") is None


def test_the_keyboard_does_what_the_pointer_does(watched, address):
    page = opened(watched, address)
    page.focus("#picture")
    before = page.evaluate("probe.camera()")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("+")
    after = page.evaluate("probe.camera()")
    assert after["orbit_deg"] > before["orbit_deg"]
    assert after["height_deg"] > before["height_deg"]
    assert after["distance"] < before["distance"]
    page.keyboard.down("j")
    page.keyboard.up("j")
    page.keyboard.press(".")
    assert page.evaluate("probe.told") == ["finger -0.001", "finger 0", "knob 1"]


def test_a_drag_beside_the_instrument_orbits_and_the_wheel_zooms(watched, address):
    page = opened(watched, address)
    before = page.evaluate("probe.camera()")
    page.mouse.move(1300, 60)
    page.mouse.down()
    page.mouse.move(1200, 60, steps=3)
    page.mouse.up()
    page.mouse.wheel(0, 300)
    page.wait_for_timeout(100)
    after = page.evaluate("probe.camera()")
    assert after["orbit_deg"] != before["orbit_deg"]
    assert after["distance"] > before["distance"]
    assert page.evaluate("probe.told") == []
    page.mouse.click(1300, 60)
    assert page.evaluate("probe.told") == ["pressed null"]


def test_a_picture_of_any_moment_has_its_size_and_leaves_the_screen_alone(watched, address):
    page = opened(watched, address)
    head = page.evaluate(
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


def test_a_slow_machine_gets_the_plain_level_and_a_quick_one_the_finest_again(watched, address):
    page = opened(watched, address)
    levels = page.evaluate(
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


def test_without_graphics_hardware_smooth_edges_give_way_to_the_rate(watched, address):
    page = opened(watched, address)
    levels = page.evaluate(
        """() => {
            const software = new probe.Governor(true);
            return [90, 150, 90, 150, 150].map((ms, i) => (software.took(ms, 1000 * i), software.level)); }"""
    )
    # Twice in a row more than a picture may take of the fifth of a second that it has.
    assert levels == ["plain", "plain", "plain", "plain", "rough"]


def test_the_screens_own_resolution_moving_and_still_and_the_finest_level_once_nothing_moves(
    wholly_watched, address
):
    page = opened(wholly_watched, address, "")
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


def test_a_camera_path_moves_between_stations_and_cuts_when_motion_is_unwanted(watched, address):
    page = opened(watched, address)
    stations = [
        {"at_s": at, "orbit_deg": orbit, "height_deg": 10, "distance": 1, "explode": explode}
        | {"hide_case": False, "look": "whole"}
        for at, orbit, explode in ((0, 350, 0), (10, 30, 1))
    ]
    at = "([stations, time, still]) => probe.alongPath(stations, time, still)"
    middle = page.evaluate(at, [stations, 8.5, False])
    assert middle["camera"]["orbit_deg"] == pytest.approx(370, abs=1e-9)
    assert middle["view"]["explode"] == pytest.approx(0.5)
    still = page.evaluate(at, [stations, 9.9, True])
    assert still["camera"]["orbit_deg"] == 350
    assert page.evaluate(at, [stations, 10, False])["camera"]["orbit_deg"] == 30


# The stage's own picture (its canvas without the column beside it) as shares of the whole page, at 1920x1080
# and 1366x768; on an upright phone the picture has the page's width.
CANVASES = {(1325, 970): (1920, 1080), (942, 660): (1366, 768)}
PHONE = (390, 420)
FILLS = """cameras => cameras.map(camera => {
    const { at_s, explode, hide_case, follow, ...given } = camera;
    const view = { showAir: true, showArrows: true, hideCase: false, explode, follow };
    const frames = [[90, 0, 0], [30, 0, 0]].map(([heading_deg, pitch_deg, bank_deg]) =>
        probe.frameOf({ heading_deg, pitch_deg, bank_deg, axis_deg: 40 }, 1));
    return frames.map(frame => probe.cutaway.fills(frame, probe.enlarged(given), view)); })"""


def stations() -> dict[str, dict[str, Any]]:
    """Every camera of every scene and step of the library, by the scene's id and its number."""
    return {
        f"{scene.entry.id} {number}": msgspec.to_builtins(camera)
        for scene in library().values()
        for number, camera in enumerate([*scene.entry.camera, *(one.entry.camera for one in scene.steps)], 1)
    }


def test_every_camera_of_the_library_fills_the_stage_with_the_instrument(watched, address):
    page = opened(watched, address)
    # The way of the air is three times as long as the instrument: it has the picture's width for itself.
    cameras = {name: one for name, one in stations().items() if one["look"] != "air"}
    assert len(cameras) > 60
    small = []
    for (wide, high), (across, down) in CANVASES.items():
        page.evaluate(f"probe.cutaway.resize({wide}, {high})")
        found = page.evaluate(FILLS, list(cameras.values()))
        for name, one in zip(cameras, found, strict=True):
            height = min(filled["high"] * high / down for filled in one)
            area = min(filled["area"] * wide * high / (across * down) for filled in one)
            if height < 0.8 or area < 0.28:
                small.append(f"{name}, {across} x {down}: {height:.2f} of the height, {area:.2f} of the area")
    page.evaluate("probe.cutaway.resize({}, {})".format(*PHONE))
    for name, one in zip(cameras, page.evaluate(FILLS, list(cameras.values())), strict=True):
        if min(filled["wide"] for filled in one) < 0.85:
            small.append(f"{name}, phone: {min(filled['wide'] for filled in one):.2f} of the width")
    assert not small, "\n".join(small)


# Labels of a picture, judged without the code that placed them: names over each other or over the card, lines
# that cross, and, by the ray that finds the part under a pointer, names of parts that something hides.
FAULTS = """([from, to, sizes]) => {
    const WITHIN = {buckets: 'rotor'};
    const faults = [];
    const crossed = ([a, b], [p, q]) => {
        const side = (u, v, w) => (v.x - u.x) * (w.y - u.y) - (v.y - u.y) * (w.x - u.x);
        return side(a, b, p) * side(a, b, q) < 0 && side(p, q, a) * side(p, q, b) < 0; };
    const nearest = ([a, b], {x, y}) => {
        const along = [b.x - a.x, b.y - a.y];
        const share = ((x - a.x) * along[0] + (y - a.y) * along[1]) / (along[0] ** 2 + along[1] ** 2);
        const at = Math.min(Math.max(share, 0), 1);
        return Math.hypot(x - a.x - at * along[0], y - a.y - at * along[1]); };
    const share = (i, irrational) => (i * irrational) % 1;
    let labels = 0;
    for (let i = from; i < to; i++) {
        const [wide, high] = sizes[Math.floor((i - from) * sizes.length / (to - from))];
        if (i === from || document.querySelector('canvas').width !== wide) probe.cutaway.resize(wide, high);
        const look = ['whole', 'rotor', 'card', 'air', 'instrument', 'jets'][i % 6];
        const camera = { look, orbit_deg: 360 * share(i, 0.6180339887),
            distance: 0.5 + 1.2 * share(i, 0.5698402909), height_deg: -50 + 125 * share(i, 0.7548776662) };
        const explode = i % 5 ? 0 : share(i, 0.3247179572);
        const view = { showAir: i % 3 > 0, showArrows: i % 2 > 0, explode,
            labels: i % 4 ? 'few' : 'all', hideCase: i % 7 === 0 };
        const show = ['level', 'turn', 'bank', 'climb', 'finger', 'caged', 'tumble'][i % 7];
        probe.draw(probe.shows[show](10 * share(i, 0.4142135624)), view, camera);
        const placed = probe.cutaway.labels();
        const card = probe.cutaway.cardOnPicture();
        const say = what => faults.push(`${i} ${what}`);
        labels += placed.length;
        placed.forEach((one, k) => {
            const {left, right, top, bottom} = one.box;
            for (const other of placed.slice(0, k)) {
                const box = other.box;
                const across = left < box.right && box.left < right;
                if (across && top < box.bottom && box.top < bottom) say(`${one.text} over ${other.text}`);
                for (const [of, over] of [[one, other], [other, one]]) {
                    const {box: {left, right, top, bottom}} = over;
                    const edges = [[left, top, right, top], [right, top, right, bottom],
                        [right, bottom, left, bottom], [left, bottom, left, top]];
                    const cuts = ([x, y, p, q]) => crossed(of.line, [{x, y}, {x: p, y: q}]);
                    if (of.line && edges.some(cuts)) say(`line of ${of.text} over ${over.text}`); }
                if (!one.line || !other.line) continue;
                if (crossed(one.line, other.line)) say(`${one.text} crosses ${other.text}`);
                // Lines that touch are as bad: an end on another line.
                const touch = (a, b) => a.line.some(end => nearest(b.line, end) < 3);
                if (touch(one, other) || touch(other, one)) say(`${one.text} touches ${other.text}`);
            }
            const front = look === 'card' && Math.cos(camera.orbit_deg * Math.PI / 180) > 0.3 && !explode;
            const over = card.x > left && card.x < right && card.y > top && card.y < bottom;
            if (front && over) say(`${one.text} over the card`);
            if (!one.line) return;
            const [start, end] = one.line;
            const long = Math.hypot(start.x - end.x, start.y - end.y) > 0.3 * wide + 1;
            if (long) say(`${one.text} leads across the picture`);
            const under = end.x > left && end.x < right && end.y > top && end.y < bottom;
            if (under) say(`${one.text} over its own part`);
            const part = probe.cutaway.pick(end.x, end.y);
            if (part !== one.part && WITHIN[part] !== one.part) say(`${one.text} leads to ${part}`);
        });
    }
    return { labels, faults };
}"""


# Small ones, so that drawing takes little, and letters are larger in proportion: a page, a phone, the bench.
SMALL = [(800, 450), PHONE, (520, 400)]


def judged(watched: Any, address: str, first: int, end: int, sizes: list[tuple[int, int]]) -> dict[str, Any]:
    page = opened(watched, address)
    found: dict[str, Any] = page.evaluate(FAULTS, [first, end, sizes])
    return found


def test_labels_lie_over_nothing_and_name_only_what_is_seen(watched, address):
    found = judged(watched, address, 0, 42, SMALL)
    assert found["labels"] > 200
    assert found["faults"] == []


@pytest.mark.acceptance
def test_labels_from_a_thousand_camera_positions(watched, address):
    found = judged(watched, address, 42, 1042, [*SMALL, *CANVASES])
    assert found["labels"] > 5000
    assert found["faults"] == []
