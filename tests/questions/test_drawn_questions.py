"""Questions that are answered by looking: what is drawn is what the key is found from."""

import re
from pathlib import Path

import pytest

from lubberline.questions.bank import model_named, models
from lubberline.questions.belief import Belief
from lubberline.questions.blueprint import read_blueprint
from lubberline.questions.generate import generate, item_of
from lubberline.questions.panel_figures import needle_inhg, plumbing_figure, suction_gauge
from lubberline.questions.papers import assemble
from lubberline.simulation.supply import BUS, GYROS, SUCTION, Plumbing

DEMO = Path(__file__).parents[2] / "demo"


def blueprints() -> list[Path]:
    return [*sorted(DEMO.glob("papers/*.toml")), *sorted(DEMO.glob("class/papers/*.toml"))]


# On a phone a drawing is at most about as wide as this, and no letter may be under 11 of its pixels.
PHONE_PX, LEAST_PX = 340.0, 11.0


@pytest.mark.parametrize(
    ("model", "drawn", "idea", "answer"),
    [
        # By hand: 3.3 inHg with each tenth mistaken; half an inch a mark.
        ("gauge-reading", {"gauge_inhg": 3.3}, "gauge-figure-above", 4.3),
        ("gauge-reading", {"gauge_inhg": 3.3}, "gauge-counted-back", 3.7),
        # Bernoulli's theorem: 60% of the speed, 36% of the suction.
        ("venturi-at-speed", {"rated_inhg": 5.0, "rated_kt": 100.0, "airspeed_kt": 60.0}, "", 1.8),
        (
            *("venturi-at-speed", {"rated_inhg": 5.0, "rated_kt": 100.0, "airspeed_kt": 60.0}),
            *("venturi-in-proportion", 3.0),
        ),
        # Compass 096, deviation 4 E: magnetic 100; the dial shows 110.
        ("setting-two-faces", {"magnetic_deg": 100.0, "deviation_deg": 4.0, "error_deg": 10.0}, "", 10.0),
        (
            *("setting-two-faces", {"magnetic_deg": 100.0, "deviation_deg": 4.0, "error_deg": 10.0}),
            *("compass-heading-is-magnetic", 14.0),
        ),
        # True 085, variation 7 E: magnetic 078, painted 08; the dial shows 084.
        ("setting-lined-up", {"true_deg": 85.0, "variation_deg": 7.0, "error_deg": 6.0}, "", 6.0),
        (
            *("setting-lined-up", {"true_deg": 85.0, "variation_deg": 7.0, "error_deg": 6.0}),
            *("runway-number-is-its-bearing", 4.0),
        ),
    ],
)
def test_what_a_drawing_says_to_each(model: str, drawn: dict[str, float], idea: str, answer: float) -> None:
    found = model_named(model).second(drawn, Belief(idea))
    assert found == pytest.approx(answer, abs=0.11 if "inhg" in " ".join(drawn) else 0.6)


def test_a_needle_stands_at_what_was_drawn() -> None:
    for inhg in (0.0, 1.1, 4.5, 6.8):
        assert needle_inhg(suction_gauge(inhg).svg) == pytest.approx((inhg,), abs=0.02)


def test_a_pipe_or_a_wire_leads_to_every_gyro_and_none_to_the_compass() -> None:
    for drives in ((SUCTION, SUCTION, BUS), (BUS, SUCTION, BUS), (SUCTION, BUS, SUCTION)):
        plumbing = Plumbing(dict(zip(GYROS, drives, strict=True)), 2)
        svg = plumbing_figure(plumbing, "pump 1").svg
        wires = svg.count("stroke-dasharray")
        assert wires == drives.count(BUS)
        assert len(re.findall(r"V43M", svg)) == drives.count(SUCTION)


def test_letters_are_large_enough_on_a_phone() -> None:
    for model in models().values():
        figure = generate(model, 1).figure
        if figure is None:
            continue
        wide = float(figure.svg.split('viewBox="')[1].split()[2])
        least = min(map(float, re.findall(r'font-size="([\d.]+)"', figure.svg)))
        shown_px = min(PHONE_PX, 220.0 if wide <= 220.0 else PHONE_PX)
        assert least * shown_px / wide >= LEAST_PX, (model.id, least, wide)


def test_a_model_says_that_it_has_a_picture() -> None:
    for model in models().values():
        assert (generate(model, 1).figure is not None) == model.pictured, model.id


@pytest.mark.parametrize("blueprint", blueprints(), ids=lambda path: path.stem)
def test_a_third_of_every_paper_is_answered_by_looking(blueprint: Path) -> None:
    for seed in range(3):
        for paper in assemble(read_blueprint(blueprint), seed):
            looked = sum(item.figure is not None for item in paper.items)
            assert 3 * looked >= len(paper.items), (seed, paper.form, looked)


def test_no_alt_text_names_the_key() -> None:
    for model in models().values():
        for seed in range(3):
            item = generate(model, seed)
            if item.figure is not None and item.kind == "choice" and item.unit:
                assert item.options[item.key].text not in item.figure.alt, item.id


_TRACE = re.compile(r'd="M([^"]+)" stroke-width="2.4"')
_SIZES = re.compile(r'y="([\d.]+)" font-size="13"[^>]*>([+−]?)(\d+)°<')
_CARD = re.compile(r'font-size="17"[^>]*>(\d{3})<')
_NORTH = re.compile(r'<path transform="rotate\(([-\d.]+) [\d.]+ [\d.]+\)" d="M[\d. ]+v12"/>')


def headings_drawn(svg: str) -> list[float]:
    """What each dial of a drawing reads: the mark of north, the first of its 36 long ones, turned back."""
    return [-float(turn) % 360.0 for turn in _NORTH.findall(svg)[::36]]


def error_drawn(svg: str) -> float:
    """Where the line of a graph ends, by the figures beside it."""
    (line,) = _TRACE.findall(svg)
    scale = [
        (float(y), float(size) * (-1.0 if sign == "−" else 1.0)) for y, sign, size in _SIZES.findall(svg)
    ]
    (low_y, low), (high_y, high) = scale[0], scale[-1]
    end_y = float(line.split("L")[-1].split()[1]) + 4.0
    return low + (high - low) * (end_y - low_y) / (high_y - low_y)


def agrees(text: str, pattern: str, drawn: list[float]) -> None:
    """The numbers of a text are those drawn, to the last digit that it prints."""
    found = re.search(pattern, text)
    assert found, text
    for said, shown in zip(found.groups(), drawn, strict=True):
        half = 0.5 * 10.0 ** -len(said.partition(".")[2])
        assert abs(float(said) - shown) <= half + 0.03, (text, drawn)


# Of each model whose reason names what is to be read: the words about it, and what the drawing shows.
READ = {
    "trace-rate": (r"the reading (?:rises|falls) by ([\d.]+)°", lambda svg: [abs(error_drawn(svg))]),
    "trace-where": (r"the reading (?:rises|falls) by ([\d.]+)°", lambda svg: [abs(error_drawn(svg))]),
    "gauge-reading": (r"It reads ([\d.]+) inHg", lambda svg: [*needle_inhg(svg)]),
    "suction-usual-range": (r"The gauge reads ([\d.]+) inHg", lambda svg: [*needle_inhg(svg)]),
    "setting-read-the-dial": (r"clockwise: (\d+)°", headings_drawn),
    "setting-two-faces": (r"The heading indicator reads (\d+)°", headings_drawn),
    "setting-lined-up": (r"The heading indicator reads (\d+)°", headings_drawn),
    **dict.fromkeys(
        ("wander-find-latitude", "wander-real-left-over"),
        (
            r"^The reading (?:rises|falls) by ([\d.]+)°",
            lambda svg: [abs((headings_drawn(svg)[1] - headings_drawn(svg)[0] + 180.0) % 360.0 - 180.0)],
        ),
    ),
}


@pytest.mark.parametrize("id", READ)
def test_a_reason_says_what_its_drawing_shows_to_the_last_digit(id: str) -> None:
    pattern, shown = READ[id]
    for seed in range(4):
        item = generate(model_named(id), seed)
        assert item.figure is not None
        agrees(item.reason, pattern, shown(item.figure.svg))


def test_a_reason_names_rows_that_the_drawn_card_has() -> None:
    for seed in range(4):
        item = generate(model_named("compass-correction-card"), seed)
        assert item.figure is not None
        cells = _CARD.findall(item.figure.svg)
        rows = set(zip(cells[::2], cells[1::2], strict=True))
        named = re.findall(r"for (\d{3})° steer (\d{3})°", item.reason)
        assert len(named) == 2
        assert set(named) <= rows


@pytest.mark.acceptance
@pytest.mark.parametrize("blueprint", blueprints(), ids=lambda path: path.stem)
def test_a_third_of_a_hundred_papers_is_answered_by_looking(blueprint: Path) -> None:
    for seed in range(3, 100):
        for paper in assemble(read_blueprint(blueprint), seed):
            assert 3 * sum(item.figure is not None for item in paper.items) >= len(paper.items), seed


def test_a_suction_failure_takes_what_its_pipes_lead_to() -> None:
    drawn = {"drives": "suction+suction+bus", "pumps": 1.0, "failed": "pump 1"}
    item = item_of(model_named("supply-what-stops"), drawn)
    assert item.options[item.key].text == "the attitude indicator and the heading indicator"
