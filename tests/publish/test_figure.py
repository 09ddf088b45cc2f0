"""The figure of a flight: well-formed, safe, complete, and true to the ledger."""

import re
import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lubberline.publish.figures.axes import setting_rows
from lubberline.publish.figures.bands import STACK_ORDER, stack_of
from lubberline.publish.figures.causes import LOOKS
from lubberline.publish.figures.figure import figure_svg, route_svg
from lubberline.publish.figures.ledger_plot import range_deg
from lubberline.publish.figures.svg import DARK, LIGHT

from .made_up import SENTENCE, made_up_flown

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
FLIGHTS = {
    "plain": {},
    "settings": {"settings_s": [0.0, 1500.0, 3900.0]},
    "tumble": {"minutes": 70.0, "settings_s": [0.0, 3300.0], "tumble_deg": -412.0},
    "tiny": {"scale": 0.02, "turns": False, "minutes": 60.0},
    "short": {"minutes": 5.0, "latitude_deg": -34.0},
    "long": {"minutes": 360.0, "settings_s": [1080.0 * k for k in range(20)], "latitude_deg": 78.0},
}


def drawn(flown, **options):
    return ET.fromstring(figure_svg(flown, **options))


def texts(root):
    return ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]


def numbers(data):
    return np.array([float(n) for n in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", data)]).reshape(-1, 2)


def band_height(root, x):
    """Upward less downward extent of all bands at an x, in user units, from the polygons alone."""
    height = 0.0
    for path in root.iter(f"{SVG}path"):
        if "data-cause" not in path.attrib:
            continue
        for polygon in path.get("d").split("Z"):
            if not polygon:
                continue
            points = numbers(polygon)
            half = len(points) // 2
            outer, inner = points[:half], points[half:][::-1]
            if outer[0, 0] <= x <= outer[-1, 0]:
                height += np.interp(x, *inner.T) - np.interp(x, *outer.T)
    return height


@pytest.mark.parametrize("name", FLIGHTS)
def test_bands_on_the_paper_add_up_to_the_ledgers_total(name):
    flown = made_up_flown(**FLIGHTS[name])
    root = drawn(flown)
    low, high = range_deg(stack_of(flown.ledger, setting_rows(flown)))
    end_s = flown.ledger["time_s"][-1]
    stack = stack_of(flown.ledger, setting_rows(flown))
    # Away from settings and from the spikes of turns, where a tenth of a unit in x is some degrees in y.
    settings = np.array(setting_rows(flown))
    swing = np.abs(np.gradient(flown.ledger["geometry_deg"])) + np.abs(
        np.gradient(flown.ledger["tumble_deg"])
    )
    calm = [
        r for r in stack.rows if swing[max(r - 9, 0) : r + 10].max() < 0.02 and np.abs(settings - r).min() > 9
    ]
    for row in calm[:: max(1, len(calm) // 25)]:
        x = 64.0 + flown.ledger["time_s"][row] / end_s * 748.0
        deg = band_height(root, x) / 260.0 * (high - low)
        # Coordinates are written to a tenth of a unit, for some ten bands of two edges each.
        tolerance = 2.0 * (high - low) / 260.0 + 0.01 * abs(flown.ledger["total_deg"][row])
        assert deg == pytest.approx(flown.ledger["total_deg"][row], abs=tolerance), row


@pytest.mark.parametrize("name", FLIGHTS)
def test_every_text_a_reader_needs_is_there(name):
    flown = made_up_flown(**FLIGHTS[name])
    root = drawn(flown)
    words = texts(root)
    whole = " ".join(words)
    assert flown.summary["title"] in words
    assert " ".join(SENTENCE.split()) in " ".join(whole.split())
    assert "limit +3°" in words
    assert "limit −3°" in words
    for label in ("apparent wander (Earth rate)", "friction and imbalance", "latitude nut", "total", "N"):
        assert label in words, label
    assert any("Worst error" in text for text in words)
    assert root.find(f"{SVG}title").text == flown.summary["title"]
    description = root.find(f"{SVG}desc").text
    assert SENTENCE in description
    assert "Drift in 15 min: " in description
    assert "Settings: at 0 min from truth" in description


def test_the_key_at_the_worst_moment_adds_up():
    flown = made_up_flown(settings_s=[0.0, 1500.0, 3900.0])
    words = texts(drawn(flown))
    key = words[words.index(next(w for w in words if w.startswith("Worst, at"))) + 1 :]
    shares = [float(w.replace("−", "-").rstrip("°")) for w in key if re.fullmatch(r"[+−]?\d+\.\d+°", w)]
    parts, total = shares[:-1], shares[-1]
    assert total == pytest.approx(flown.summary["worst_error_deg"], abs=0.051)
    assert sum(parts) == pytest.approx(total, abs=0.05 * len(parts))


def test_user_text_is_never_markup():
    nasty = '<script>alert("x")</script> & \x00\x1b ]]> \ud800 "quoted"'
    flown = made_up_flown(minutes=5, title=nasty, sentence=nasty, events=((60.0, f"fault {nasty}"),))
    svg = figure_svg(flown)
    assert "<script" not in svg
    root = ET.fromstring(svg.encode("utf-8"))
    assert not list(root.iter(f"{SVG}script"))
    assert '<script>alert("x")</script> & ' in root.find(f"{SVG}title").text


def test_nothing_is_fetched_from_outside():
    svg = figure_svg(made_up_flown(minutes=20))
    outside = set(re.findall(r'https?://[^"\s)]+', svg))
    assert outside == {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", svg))
    root = ET.fromstring(svg)
    identifiers = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(identifiers) == len(set(identifiers))
    for element in root.iter():
        target = element.get(HREF)
        assert target is None or target[1:] in identifiers
    for reference in re.findall(r"url\(#([^)]*)\)", svg):
        assert reference in identifiers


def test_two_flights_in_one_page_do_not_share_identifiers():
    first, second = (figure_svg(made_up_flown(minutes=5, title=title)) for title in ("one", "two"))
    assert not set(re.findall(r'id="([^"]+)"', first)) & set(re.findall(r'id="([^"]+)"', second))


@pytest.mark.parametrize("name", FLIGHTS)
def test_no_line_has_more_than_1500_points_and_all_numbers_are_numbers(name):
    svg = figure_svg(made_up_flown(**FLIGHTS[name]))
    assert not re.search(r"\b(nan|inf|None)\b", svg)
    for element in ET.fromstring(svg).iter(f"{SVG}path"):
        longest = max(len(re.findall(r"[\d.]+", part)) // 2 for part in element.get("d").split("M"))
        points = longest // 2 if "data-cause" in element.attrib else longest
        assert points <= 1500 + 2 * 20


def test_settings_and_faults_are_marked():
    flown = made_up_flown(
        settings_s=[0.0, 1500.0, 3900.0],
        events=((2400.0, "fault filter=0.6"), (1500.0, "set from compass; gap")),
    )
    words = texts(drawn(flown))
    assert words.count("set") == 3
    assert "gap" in words
    assert "fault: filter 0.6" in words
    many = texts(drawn(made_up_flown(**FLIGHTS["long"])))
    assert "set" in many
    crowded = texts(drawn(made_up_flown(minutes=360.0, settings_s=[300.0 * k for k in range(70)])))
    assert crowded.count("set") == 1


def test_a_tumble_off_the_scale_is_said():
    words = texts(drawn(made_up_flown(**FLIGHTS["tumble"])))
    assert any(word.startswith("tumble: off the scale from 39\u00a0min; total up to −41") for word in words)
    assert any(word.startswith("on the card +17") for word in words)
    assert not any("off the scale" in word for word in texts(drawn(made_up_flown())))


def test_an_electric_aircraft_without_a_compass_or_suction_draws_too():
    flown = made_up_flown(minutes=20)
    nothing = np.full(flown.trace.row_count, np.nan)
    trace = {**flown.trace, "gauge_inhg": nothing, "instrument_suction_inhg": nothing}
    trace.update(compass_deg=nothing, compass_error_deg=nothing)
    words = texts(drawn(type(flown)(type(flown.trace)(trace), *list(vars(flown).values())[1:])))
    assert "Suction, inHg" not in words
    assert not any(word.startswith("Compass") for word in words)


def test_a_perfect_instrument_has_no_bands_and_is_drawn_all_the_same():
    flown = made_up_flown(minutes=20)
    nothing = {name: np.zeros(flown.ledger.row_count) for name in flown.ledger}
    nothing["time_s"] = flown.ledger["time_s"]
    ledgers = {**flown.ledgers, "heading_indicator": type(flown.ledger)(nothing)}
    perfect = replace(flown, ledgers=ledgers)
    root = drawn(perfect)
    assert not [path for path in root.iter(f"{SVG}path") if "data-cause" in path.attrib]
    assert "limit +3°" in texts(root)


def test_two_hours_take_under_100_ms_of_processor():
    flown = made_up_flown(settings_s=[0.0, 1500.0, 3900.0])
    times = []
    for _ in range(5):
        begin = time.process_time()
        figure_svg(flown)
        times.append(time.process_time() - begin)
    assert min(times) < 0.1


def test_the_route_alone_is_a_document():
    root = ET.fromstring(route_svg(made_up_flown(minutes=20)))
    assert root.get("viewBox") == "0 0 300 235"
    assert "N" in texts(root)


def luminance(colour):
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Contrast ratio of W3C, Web Content Accessibility Guidelines 2.2, 'contrast ratio' (from memory)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("inks", [LIGHT, DARK], ids=["light", "dark"])
def test_letters_and_lines_stand_out(inks):
    """WCAG 2.2, 1.4.3: 4.5 for text; 1.4.11: 3 for what is needed to understand a graphic."""
    for name in ("text", "muted"):
        assert contrast(inks[name], inks["paper"]) >= 4.5, name
    for name in ("line", "limit", "alarm", "frame"):
        assert contrast(inks[name], inks["paper"]) >= 3.0, name
    for cause, look in LOOKS.items():
        assert contrast("#15181b", look.fill) >= 4.5 or cause == "tumble", cause
        assert contrast("#15181b", look.fill) >= 3.0, cause


# Linear RGB seen by a person without one kind of cone: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes,
# 'A Physiologically-based Model for Simulation of Color Vision Deficiency', IEEE TVCG 15(6), 2009,
# severity 1.0 (from memory).
BLIND = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "none": np.eye(3).tolist(),
}


def lab(colour, seen_by):
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    linear = np.clip(np.array(BLIND[seen_by]) @ linear, 0.0, 1.0)
    to_xyz = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    xyz = np.array(to_xyz) @ linear / [0.9505, 1.0, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16.0 / 116.0)
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


@pytest.mark.parametrize("seen_by", BLIND)
def test_neighbours_in_the_stack_differ_in_colour_for_all_and_in_pattern(seen_by):
    order = [name.removesuffix("_deg") for name in STACK_ORDER]
    assert set(order) == set(LOOKS)
    for inner, outer in pairwise(order):
        apart = np.linalg.norm(lab(LOOKS[inner].fill, seen_by) - lab(LOOKS[outer].fill, seen_by))
        assert apart > 10.0, (inner, outer)
        assert LOOKS[inner].pattern != LOOKS[outer].pattern
    kinds = [(look.fill, look.pattern) for look in LOOKS.values()]
    assert len(set(kinds)) == len(kinds)
