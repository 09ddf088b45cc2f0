"""Setting the heading indicator, by looking: a dial, two faces, a runway, moments of a flight."""

import math
import re
from functools import cache
from typing import Any

from lubberline.angles import wrapped_deg
from lubberline.questions.figures import heading_dial
from lubberline.questions.models import (
    COMMON,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    flown_legs,
    hanging_card_deg,
    notation,
)
from lubberline.questions.panel_figures import LETTERS, ORDERS, Moment, letter_of, moments_figure, two_faces
from lubberline.questions.second_ways import COMPASS, GYRO

SOURCE = "set to the magnetic compass in straight, unaccelerated flight: FAA-H-8083-15B, chapter 5"


@cache
def read_window_deg(svg: str) -> float:
    """The heading at the lubber line of the window in a drawing, from where two of its figures stand."""
    letters = {"N": 0, "E": 90, "S": 180, "W": 270}
    (x0, first), (x1, second) = [
        (float(x), float(letters[word] if word in letters else 10 * int(word)))
        for x, word in re.findall(r'<text x="([\d.]+)"[^>]*>([NESW\d]+)</text>', svg.split("<rect")[1])
    ][:2]
    per_px = wrapped_deg(second - first) / (x1 - x0)
    line = float(re.findall(r'd="M([\d.]+) \d+v36M', svg)[0])
    return (first + per_px * (line - x0)) % 360.0


def _faces(d: Drawn) -> Worked:
    magnetic, deviation, error = d["magnetic_deg"], d["deviation_deg"], d["error_deg"]
    compass = magnetic - deviation
    mirrored = wrapped_deg(20.0 * round(compass / 10.0) - 2.0 * compass)
    return Worked(
        error,
        (
            Wrong("compass-heading-is-magnetic", error + deviation),
            Wrong("deviation-the-wrong-way", error + 2.0 * deviation),
            Wrong("difference-the-wrong-way-round", -error),
            Wrong("compass-window-mirrored", error - mirrored),
        ),
        {
            "deviation": notation.east_west(deviation),
            "compass": notation.heading(compass),
            "magnetic": notation.heading(magnetic),
            "shown": notation.heading(magnetic + error),
        },
        signs=2,
        figure=_drawn_faces(d),
    )


def _drawn_faces(d: Drawn) -> Any:
    magnetic = d["magnetic_deg"]
    return two_faces((magnetic + d["error_deg"]) % 360.0, (magnetic - d["deviation_deg"]) % 360.0)


def _faces_second(d: Drawn, believed: Belief) -> float:
    svg = _drawn_faces(d).svg
    compass = believed.step("figures of the window", read_window_deg(svg))
    deviation = believed.laws(COMPASS).compass_deviation * d["deviation_deg"]
    deviation = believed.of({"compass-heading": deviation, "magnetic-heading": 0.0}, "compass-heading")
    off: float = believed.step("sense of a difference", wrapped_deg(read_dial_deg(svg) - compass - deviation))
    return off


FACES = ItemModel(
    id="setting-two-faces",
    pictured=True,
    topic="setting",
    level="apply",
    kind="choice",
    draw=lambda draw: {
        "magnetic_deg": draw.step(5.0, 355.0, 5.0),
        "deviation_deg": draw.signed(3, 6, 1),
        "error_deg": draw.signed(4, 16, 2),
    },
    work=_faces,
    second=_faces_second,
    second_way="the drawing itself, measured: its dial and its window",
    words=Words(
        stem="In straight, steady flight the heading indicator and the magnetic compass read as drawn. The "
        "deviation on this heading is {deviation}. How wrong is the heading indicator as a magnetic heading?",
        reason="The compass reads {compass}; with deviation {deviation} the magnetic heading is {magnetic}. "
        "The heading indicator reads {shown}, which is {key}.",
        feedback=dict.fromkeys(
            (
                *("compass-heading-is-magnetic", "deviation-the-wrong-way"),
                *("difference-the-wrong-way-round", "compass-window-mirrored"),
            ),
            "The compass reads {compass}, the magnetic heading is {magnetic} and the heading indicator reads "
            "{shown}: {key}.",
        ),
    ),
    source=SOURCE,
    steps=3,
    notation=notation.ERROR,
    apart=2.0,
    agree=0.6,
)


def _runway(d: Drawn) -> Worked:
    true, variation, error = d["true_deg"], d["variation_deg"], d["error_deg"]
    magnetic = true - variation
    shown = (magnetic + error) % 360.0
    number = 10.0 * round(magnetic / 10.0)
    ten = 10.0 * (shown // 10.0)
    return Worked(
        error,
        (
            Wrong("compass-points-to-true-north", error - variation),
            Wrong("add-east-variation", error - 2.0 * variation),
            Wrong("runway-number-is-its-bearing", magnetic + error - number),
            Wrong("difference-the-wrong-way-round", -error),
            Wrong("dial-read-backwards", wrapped_deg(2.0 * ten + 10.0 - shown - magnetic)),
        ),
        {
            "number": f"{round(number / 10.0 - 1) % 36 + 1:02d}",
            "true": notation.heading(true),
            "variation": notation.east_west(variation),
            "magnetic": notation.heading(magnetic),
            "shown": notation.heading(shown),
        },
        signs=2,
        figure=heading_dial(shown),
    )


def _runway_second(d: Drawn, believed: Belief) -> float:
    """From the drawn dial, and the runway's bearing turned by the variation."""
    shown = (d["true_deg"] - d["variation_deg"] + d["error_deg"]) % 360.0
    read = believed.step("figures of the dial", read_dial_deg(heading_dial(shown).svg))
    laws = believed.laws(GYRO)
    bearing = d["true_deg"] - laws.variation_sign * d["variation_deg"]
    bearing = believed.step("bearing of the runway", bearing, 10.0 * round(bearing / 10.0))
    off: float = believed.step("sense of a difference", wrapped_deg(read - bearing))
    return off


RUNWAY = ItemModel(
    id="setting-lined-up",
    pictured=True,
    topic="setting",
    level="judge",
    kind="number",
    draw=lambda draw: {
        "true_deg": draw.step(12.0, 352.0, 10.0) + draw.pick((0.0, 1.0, 5.0)),
        "variation_deg": draw.variation_deg(4, 16, 1),
        "error_deg": draw.signed(4, 12, 1),
    },
    work=_runway,
    second=_runway_second,
    second_way="the drawing itself, measured, and the runway's bearing turned by the variation",
    words=Words(
        stem="An aeroplane is lined up on runway {number}. The chart gives the runway's bearing as {true} "
        "true, and the variation is {variation}. The heading indicator, which should show magnetic headings, "
        "reads as drawn. By how many degrees does it read too high (+) or too low (−)?",
        reason="True {true} with variation {variation} is magnetic {magnetic}. The heading indicator reads "
        "{shown}, which is {key}.",
        feedback=dict.fromkeys(
            (
                *("compass-points-to-true-north", "add-east-variation", "runway-number-is-its-bearing"),
                *("difference-the-wrong-way-round", "dial-read-backwards"),
            ),
            "The runway's magnetic bearing is {magnetic} and the heading indicator reads {shown}: {key}.",
        ),
    ),
    source="check against the runway when lined up: FAA-H-8083-15B, Instrument Flying Handbook, chapter 5",
    steps=3,
    notation=notation.ERROR,
    apart=2.0,
    agree=0.6,
    tolerance=1.0,
    least=1,
)

# The moments: heading, bank, acceleration in g, deviation, and how they are drawn.
KINDS = ("steady", "turn", "speed", "rolled-out")


def _moments(d: Drawn) -> dict[str, tuple[float, float, float, float, Moment]]:
    """The moments by kind; the wrong ones have the smaller deviation."""
    east = d["steady_deg"] < 180.0
    speed_deg = 90.0 if east else 270.0
    bank = 15.0 if east else -15.0
    small = f"{d['small_deg']:.0f}°"
    told = {
        "steady": (d["steady_deg"], 0.0, 0.0, d["large_deg"], "steady", "level for 1 min"),
        "turn": (180.0, bank, 0.0, d["small_deg"], "steady", "turning"),
        "speed": (speed_deg, 0.0, 0.15 * d["sense"], d["small_deg"], "", "level for 1 min"),
        "rolled-out": (360.0, 0.0, 0.0, d["small_deg"], "steady", "rolled out just now"),
    }
    found = {}
    for kind, (heading, banked, along, deviation, speed, _) in told.items():
        said = speed or ("rising" if along > 0.0 else "falling")
        where = f"{notation.heading(heading)}, dev. {small if kind != 'steady' else f'{deviation:.0f}°'}"
        found[kind] = (heading, banked, along, deviation, Moment(banked, said, where, told[kind][5]))
    return found


def _drawn_moments(d: Drawn) -> Any:
    moments = _moments(d)
    return moments_figure([moments[KINDS[int(place)]][4] for place in d["order"]])


MISTAKEN = {
    "turn": ("set-it-in-the-turn", "compass-errors-exchanged"),
    "speed": ("no-acceleration-error",),
    "rolled-out": ("compass-needs-no-time",),
}


def _moment(d: Drawn) -> Worked:
    wrong = [
        Wrong(idea, letter_of(kind, KINDS, d["order"])) for kind, ideas in MISTAKEN.items() for idea in ideas
    ]
    return Worked(
        letter_of("steady", KINDS, d["order"]),
        tuple(wrong),
        {"half": "southern" if d["dip_deg"] < 0.0 else "northern", "large": f"{d['large_deg']:.0f}°"},
        figure=_drawn_moments(d),
    )


@cache
def _settling_deg(dip_deg: float, believed: Belief) -> float:
    """How wrong the compass is two seconds after an engine's aircraft has rolled out on north."""
    on = 'kind = "straight"; minutes = 0.5'
    legs = (on, 'kind = "turn"; by_deg = 90; bank_deg = 20', on)
    latitude = 50.0 if dip_deg > 0.0 else -38.0
    trace = flown_legs(latitude, 270.0, 100.0, legs, believed=believed).trace
    level = int(max(i for i, bank in enumerate(trace.bank_deg) if abs(bank) > 1.0)) + 2
    settled = float(trace.compass_error_deg[-1])
    return abs(wrapped_deg(float(trace.compass_error_deg[level]) - settled))


def _moment_second(d: Drawn, believed: Belief) -> str:
    """The moment at which the compass is least wrong: hung by vectors, or flown."""
    away = {}
    for kind, (heading, bank, along, deviation, _) in _moments(d).items():
        shown = hanging_card_deg(heading, bank, along, d["dip_deg"], believed)
        away[kind] = abs(wrapped_deg(shown - heading)) + deviation
        if kind == "rolled-out":
            away[kind] += _settling_deg(d["dip_deg"], believed)
    return letter_of(min(away, key=lambda kind: away[kind]), KINDS, d["order"])


def _draw_moment(draw: Draw) -> dict[str, Any]:
    small = draw.pick((0.0, 1.0))
    half = draw.half()
    return {
        "steady_deg": draw.heading_deg(10),
        "small_deg": small,
        "large_deg": small + draw.pick((1.0, 2.0)),
        "sense": draw.pick((1.0, -1.0)),
        "order": draw.pick(ORDERS),
        "dip_deg": -65.0 if half else 65.0,
        **half,
    }


MOMENT = ItemModel(
    id="setting-which-drawn-moment",
    pictured=True,
    topic="setting",
    level="judge",
    kind="choice",
    draw=_draw_moment,
    work=_moment,
    second=_moment_second,
    second_way="the compass at each moment: hung by vectors, and flown after the roll-out",
    words=Words(
        stem="The correction card of the compass is missing. The drawing shows four moments of a flight at a "
        "middle {half} latitude, each with the aircraft from behind, its magnetic heading and the size of "
        "the deviation there. At which moment would the heading indicator be set most accurately?",
        reason="At {key} the aircraft has flown straight at a steady speed for a while, so only the "
        "deviation of {large} is left. A turn, a change of speed or a card that still swings costs far more.",
        feedback=dict.fromkeys(
            (*MISTAKEN["turn"], *MISTAKEN["speed"], *MISTAKEN["rolled-out"]),
            "At {key} only the deviation of {large} is left.",
        ),
        options={letter: f"moment {letter}" for letter in LETTERS},
    ),
    source=SOURCE,
    steps=2,
    asks=facts("moment to set"),
)


def _dial(d: Drawn) -> Worked:
    heading = d["heading_deg"]
    ten = 10.0 * math.floor(heading / 10.0)
    return Worked(
        heading,
        (
            Wrong("dial-read-backwards", 2.0 * (ten + 5.0) - heading),
            Wrong("dial-read-at-the-foot", heading + 180.0),
            Wrong("dial-read-at-the-side", heading + 90.0),
        ),
        {"heading": notation.heading(heading)},
        figure=heading_dial(heading),
    )


@cache
def read_dial_deg(svg: str) -> float:
    """The heading of a drawn dial: minus the turn of the letter N."""
    turned = re.search(r"rotate\((-?[\d.]+) [\d.]+ [\d.]+\)\">N<", svg)
    return -float(turned[1]) % 360.0 if turned else math.nan


def _dial_second(d: Drawn, believed: Belief) -> float:
    read = believed.step("figures of the dial", read_dial_deg(heading_dial(d["heading_deg"]).svg))
    return believed.step("place on the dial", read) % 360.0


DIAL = ItemModel(
    id="setting-read-the-dial",
    pictured=True,
    topic="setting",
    level="recall",
    kind="number",
    draw=lambda draw: {"heading_deg": draw.step(0.0, 350.0, 10.0) + draw.pick((2.0, 3.0, 7.0, 8.0))},
    work=_dial,
    second=_dial_second,
    second_way="the drawing itself: how far its N is turned",
    words=Words(
        stem="The drawing shows a heading indicator. Which heading does it read?",
        reason="The card is read under the lubber line at the top, and its headings increase clockwise: "
        "{heading}.",
        feedback={
            "dial-read-backwards": "Clockwise from the mark left of the lubber line, the heading is {key}.",
            "dial-read-at-the-foot": "{this} is at the bottom of the dial; {key} is under the lubber line.",
            "dial-read-at-the-side": "{this} is at the side of the dial; {key} is under the lubber line.",
        },
    ),
    source=COMMON,
    steps=1,
    notation=notation.HEADING,
    apart=3.0,
    agree=0.1,
    tolerance=1.0,
    least=3,
)


MODELS = (DIAL, FACES, RUNWAY, MOMENT)
