"""The cutaway as scenes and tours show it: the instrument fills the picture, and its parts are named."""

import re
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from lubberline.flight.motion import STEP_S
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.scenes import begun, library
from tests.simulation.scene_numbers import standing

pytestmark = pytest.mark.browser


def test_a_camera_path_moves_between_stations_and_cuts_when_motion_is_unwanted(drawing):
    stations = [
        {"at_s": at, "orbit_deg": orbit, "height_deg": 10, "distance": 1, "explode": explode}
        | {"hide_case": False, "look": "whole"}
        for at, orbit, explode in ((0, 350, 0), (10, 30, 1))
    ]
    at = "([stations, time, still]) => probe.alongPath(stations, time, still)"
    middle = drawing.evaluate(at, [stations, 8.5, False])
    assert middle["camera"]["orbit_deg"] == pytest.approx(370, abs=1e-9)
    assert middle["view"]["explode"] == pytest.approx(0.5)
    still = drawing.evaluate(at, [stations, 9.9, True])
    assert still["camera"]["orbit_deg"] == 350
    assert drawing.evaluate(at, [stations, 10, False])["camera"]["orbit_deg"] == 30


# The stage's own picture (its canvas without the column beside it) as shares of the whole page, at 1920x1080
# and 1366x768; on an upright phone the picture has the page's width.
CANVASES = {(1325, 970): (1920, 1080), (942, 660): (1366, 768)}


PHONE = (390, 420)


# In the look along the jets the instrument fills the picture: no corner of it is free.
FILLED = "how_it_works 9"
BESIDE = """([cameras, sizes]) => { const faults = []; let strobes = 0; for (const [wide, high] of sizes) {
    probe.cutaway.resize(wide, high);
    for (const [name, {at_s, explode, hide_case, follow, ...given}] of Object.entries(cameras)) {
        const frame = probe.frameOf({heading_deg: 30, axis_deg: 40}, 1);
        const view = {showAir: true, showArrows: true, hideCase: false, explode, follow, slowRotor: true};
        probe.draw(frame, view, {distance: 1, ...probe.enlarged(given)});
        const under = ({left, right, top, bottom}) => [[left, top], [right, top], [left, bottom],
            [right, bottom], [(left + right) / 2, (top + bottom) / 2]]
            .map(([x, y]) => probe.cutaway.pick(x, y));
        for (const {text, part, box} of probe.cutaway.labels())
            if (part !== 'setting-knob' && under(box).includes('setting-knob'))
                faults.push(`${name}: ${text}`);
        const strobe = probe.cutaway.strobe();
        strobes += strobe ? 1 : 0;
        if (strobe && name !== 'FILLED' && under(strobe).some(Boolean)) faults.push(`${name}: strobe`); } }
    return {strobes, faults}; }""".replace("FILLED", FILLED)


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


def test_every_camera_of_the_library_fills_the_stage_with_the_instrument(drawing):
    cameras = stations()
    assert len(cameras) > 70
    small = []
    for (wide, high), (across, down) in [*CANVASES.items(), (PHONE, PHONE)]:
        drawing.evaluate(f"probe.cutaway.resize({wide}, {high})")
        for name, filled in zip(cameras, drawing.evaluate(FILLS, list(cameras.values())), strict=True):
            height = min(one["high"] for one in filled) * high / down
            width = min(one["wide"] for one in filled)
            area = min(one["area"] for one in filled) * wide * high / (across * down)
            if cameras[name]["look"] == "air":
                # The way of the air, with its hoses, is twice as wide as it is high.
                fills = height >= 0.8 or width >= 0.9
            elif (wide, high) == PHONE:
                fills = width >= 0.85
            else:
                fills = height >= 0.8 and area >= 0.28
            if not fills:
                small.append(
                    f"{name}, {across} x {down}: {height:.2f} high, {width:.2f} wide, {area:.2f} of the area"
                )
    assert not small, "\n".join(small)


def moment(claims: Any) -> dict[str, float]:
    """The attitude and the axis that a step's claims say, in the middle of each."""
    said = {one.name: (one.low + one.high) / 2 for one in claims}
    heading, pitch = said.get("truth.heading_deg", 0.0), said.get("truth.pitch_deg", 0.0)
    axis = heading + said.get("gyro.outer_deg", -heading)
    lift = said.get("gyro.tilt_deg", 0.0) + pitch
    return {"heading_deg": heading, "pitch_deg": pitch, "axis_deg": axis, "lift_deg": lift}


NAMED = """([steps, sizes]) => sizes.flatMap(([wide, high]) => {
    probe.cutaway.resize(wide, high);
    return steps.flatMap(({title, flown, camera, part, linked, mentioned}) => {
        const { at_s, explode, hide_case, follow, ...given } = camera;
        const view = {showAir: true, showArrows: true, spoken: part, mentioned, follow, labels: undefined};
        probe.draw(probe.frameOf(flown, 1), view, {distance: 1, ...probe.enlarged(given)});
        const named = probe.cutaway.labels().map(label => label.part);
        const missing = [part, ...linked].filter(one => !named.includes(one));
        return missing.length ? [`${title}: ${missing} at ${wide} x ${high}`] : []; }); })"""


def test_the_part_that_a_step_speaks_of_is_named_in_its_picture(drawing):
    steps = [
        {
            "title": step.entry.title,
            "flown": moment(step.entry.claim),
            "camera": msgspec.to_builtins(step.entry.camera),
            "part": step.entry.part,
            "linked": [piece.part for piece in step.say if piece.part],
            "mentioned": [piece.part for piece in (*step.say, *step.attempt) if piece.part],
        }
        for scene in library().values()
        for step in scene.steps
    ]
    assert len(steps) >= 14
    assert drawing.evaluate(NAMED, [steps, [*CANVASES, PHONE]]) == []


# What a caption may call a part, written down apart from the pages' own list.
SAID = {"card": "card", "rotor": "rotor", "gauge": "suction-gauge", "filter": "filter", "pump": "pump"}
SAID |= {
    "regulator": "regulator",
    "jet": "jets",
    "bearing": "bearings",
    "knob": "setting-knob",
    "case": "case",
}
SAID |= {"housing": "inner-gimbal", "bevel gear": "bevel-gears", "lubber line": "lubber-line"}
SAID_NOW = """([moments, sizes]) => sizes.flatMap(([wide, high]) => {
    probe.cutaway.resize(wide, high);
    return moments.flatMap(({title, frame, path, caption, said}) => {
        const {camera, view} = probe.alongPath(path, frame.time_s, true);
        const given = {showAir: true, showArrows: true, labels: undefined, ...view, hideCase: false};
        const shown = {...given, mentioned: probe.partsSaid(caption)};
        probe.draw({pace: 1, ...frame}, shown, {distance: 1, ...probe.enlarged(camera)});
        const named = probe.cutaway.labels().map(label => label.part);
        const missing = said.filter(part => !named.includes(part));
        return missing.length ? [`${title}: ${missing} at ${wide} x ${high}`] : []; }); })"""


def said_in(scene: Scene) -> Iterator[dict[str, Any]]:
    """Moments of a scene, as flown, at which a caption speaks of parts."""
    bench, flown = begun(scene), 0
    for at_s, end_s, caption in standing(scene):
        # What is only believed is not shown.
        text = caption.partition("The wrong idea")[0]
        said = [part for name, part in SAID.items() if re.search(rf"\b{name}s?\b", text, re.IGNORECASE)]
        step = round((at_s + min(1.0, (end_s - at_s) / 2.0)) / STEP_S)
        bench.advance(step - flown)
        flown = step
        if said:
            told = {"title": f"{scene.entry.id}, {at_s:g} s", "frame": bench.frame(), "caption": caption}
            yield told | {"path": msgspec.to_builtins(scene.entry.camera), "said": said}


QUICK = ("turn_with_slow_rotor", "rigidity", "precession_by_touch", "regulator_set_low", "setting_it")


@pytest.mark.parametrize("ids", [QUICK, pytest.param(tuple(library()), marks=pytest.mark.acceptance)])
def test_what_a_caption_speaks_of_is_named_in_the_picture_while_it_stands(drawing, ids):
    scenes = [library()[id] for id in ids if not library()[id].steps]
    moments = [moment for scene in scenes for moment in said_in(scene)]
    assert len(moments) >= 3 * len(scenes) - 2
    assert drawing.evaluate(SAID_NOW, [moments, [*CANVASES, PHONE]]) == []


# Where a figure with one decimal changes: a gauge of 5.05 reads 5.0, as 5.05 in binary is a little less.
EDGES = [5.049, 5.0499999, 5.05, 5.0500001, 5.051, 4.949, 4.951, 0.05, 0.0, 9.949]
FIGURES = """values => {
    const at = gauge_inhg => { const frame = probe.frameOf({}, 1);
        return {...frame, shown: {...frame.shown, gauge_inhg}}; };
    probe.cutaway.resize(1325, 970);
    const from = {look: 'air', orbit_deg: 80, height_deg: 12, distance: 1};
    probe.draw(at(1), {showAir: true, labels: undefined, explode: 0}, from);
    return values.map(value => { probe.cutaway.figures(at(value));
        return probe.cutaway.labels().find(label => label.part === 'suction-gauge')?.text; }); }"""


def test_the_gauges_label_has_the_dials_figure_before_the_picture_is_drawn_again(drawing):
    assert drawing.evaluate(FIGURES, EDGES) == [f"suction gauge {value:.1f}" for value in EDGES]


def test_no_name_lies_over_the_knob_and_the_strobes_words_stand_beside_the_instrument(drawing):
    found = drawing.evaluate(BESIDE, [stations(), [*CANVASES]])
    assert found["strobes"] > 40
    assert found["faults"] == []


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


def judged(drawing: Any, first: int, end: int, sizes: list[tuple[int, int]]) -> dict[str, Any]:
    found: dict[str, Any] = drawing.evaluate(FAULTS, [first, end, sizes])
    return found


def test_labels_lie_over_nothing_and_name_only_what_is_seen(drawing):
    found = judged(drawing, 0, 42, SMALL)
    assert found["labels"] > 200
    assert found["faults"] == []


@pytest.mark.acceptance
def test_labels_from_a_thousand_camera_positions(drawing):
    found = judged(drawing, 42, 1042, [*SMALL, *CANVASES])
    assert found["labels"] > 5000
    assert found["faults"] == []
