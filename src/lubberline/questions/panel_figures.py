"""Drawings of stems: suction gauges, what a panel runs on, faces while taxiing, moments of a flight."""

import math
import re
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from itertools import permutations
from typing import NamedTuple

from lubberline.questions.figures import (
    INK,
    SIZE,
    dial_parts,
    dial_words,
    label,
    line,
    mark_of,
    svg_figure,
    window_parts,
    window_words,
)
from lubberline.questions.item import Figure
from lubberline.simulation.supply import ATTITUDE, BUS, COMPASS, GYROS, SUCTION, Plumbing, pump_names
from lubberline.units import INHG_PA, hpa_of

GREEN = "#2e7d4f"
# A gauge's scale: from 0 to 8 inHg over 270 degrees, zero at the lower left.
MOST_INHG, SWEEP_DEG = 8.0, 270.0
GREEN_ARC_INHG = (4.5, 5.5)


@lru_cache(maxsize=4096)
def _at(x: float, y: float, r: float, inhg: float) -> str:
    angle = math.radians(SWEEP_DEG * inhg / MOST_INHG - 225.0)
    return f"{x + r * math.cos(angle):.1f} {y + r * math.sin(angle):.1f}"


class Scale(NamedTuple):
    """The scale of a suction gauge: its unit in letters and in words, its marks and its size in the unit."""

    unit: str
    words: str
    half: str
    inhg: float
    most: int
    step: int


INHG = Scale("inHg", "inches of mercury", "half inch", 1.0, 8, 1)
HPA = Scale("hPa", "hectopascals", "25", 100.0 / INHG_PA, 250, 50)


def _scale_parts(x: float, y: float, r: float, numbers: int, scale: Scale) -> list[str]:
    """Marks half way between the figures, too, and every so many of the figures."""
    parts = []
    for half in range(2 * scale.most // scale.step + 1):
        at = half * scale.step / 2.0 * scale.inhg
        inner = r - (14.0 if half % 2 == 0 else 10.0)
        parts.append(f'<path d="M{_at(x, y, inner, at)}L{_at(x, y, r - 2.0, at)}"/>')
    for figure in range(0, scale.most + 1, numbers * scale.step):
        mark_x, mark_y = map(float, _at(x, y, r - 26.0, figure * scale.inhg).split())
        parts.append(label(mark_x, mark_y + 5.0, 14.0, f"{figure}"))
    return parts


def gauge_parts(inhg: float, x: float, y: float, r: float, *, arc: bool, numbers: int = 1) -> list[str]:
    """A suction gauge about a middle, with marks every half inch and a figure every `numbers` inches."""
    parts = [f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}"/>']
    if arc:
        low, high = (_at(x, y, r - 5.0, end) for end in GREEN_ARC_INHG)
        round_it = f"A{r - 5.0:g} {r - 5.0:g} 0 0 1 {high}"
        parts.append(f'<path d="M{low}{round_it}" stroke="{GREEN}" stroke-width="8"/>')
    parts += _scale_parts(x, y, r, numbers, INHG)
    tip = _at(x, y, r - 15.0, inhg)
    parts.append(f'<path d="M{x:g} {y:g}L{tip}" stroke-width="3.2"/>')
    parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="4.5" fill="{INK}"/>')
    return parts


def gauge_words(inhg: float, scale: Scale = INHG) -> str:
    """Where a gauge's needle stands, for those who cannot see it."""
    value, mark = inhg / scale.inhg, scale.step / 2.0
    below = math.floor(value / mark + 1e-9) * mark
    if abs(value - below) < 0.04 * mark:
        return f"the needle is on the mark of {below:g}"
    return f"the needle is between the marks of {below:g} and {below + mark:g}"


def suction_gauge(inhg: float, *, arc: bool = True) -> Figure:
    """A suction gauge, with or without its green arc."""
    middle = SIZE / 2.0
    parts = gauge_parts(inhg, middle, middle, middle - 6.0, arc=arc)
    parts.append(label(middle, middle + 52.0, 14.0, "SUCTION"))
    parts.append(label(middle, middle + 70.0, 14.0, "inHg"))
    alt = "A suction gauge in inches of mercury, from 0 to 8 with a mark every half inch"
    alt += ", with a green arc from 4.5 to 5.5: " if arc else ": "
    return svg_figure(SIZE, SIZE, parts, f"{alt}{gauge_words(inhg)}.")


def gauges_row(readings_inhg: Mapping[str, float], *, arc: bool = True) -> Figure:
    """Suction gauges in a row, each with its words below it."""
    wide, r = 360.0, min(66.0, 172.0 / len(readings_inhg))
    step = wide / len(readings_inhg)
    parts: list[str] = []
    for place, (words, inhg) in enumerate(readings_inhg.items()):
        x = step * (place + 0.5)
        parts += gauge_parts(
            inhg, x, r + 3.0, min(r, step / 2.0 - 3.0), arc=arc, numbers=2 if r > 50.0 else 4
        )
        parts.append(label(x, 2.0 * r + 24.0, 15.0, words))
    told = "; ".join(f"{words}: {gauge_words(inhg)}" for words, inhg in readings_inhg.items())
    alt = "Suction gauges in inches of mercury, from 0 to 8 with a mark every half inch"
    alt += ", each with a green arc from 4.5 to 5.5. " if arc else ". "
    return svg_figure(wide, 2.0 * r + 32.0, parts, f"{alt}{told}.")


_FACE = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)"/>')
_NEEDLE = re.compile(r'd="M([\d.]+) ([\d.]+)L([-\d.]+) ([-\d.]+)" stroke-width="3.2"')


@cache
def needle_inhg(svg: str) -> tuple[float, ...]:
    """What the gauges of a drawing read, by the angle of each needle from the scale's zero."""
    found = []
    for x, y, tip_x, tip_y in _NEEDLE.findall(svg):
        angle = math.degrees(math.atan2(float(tip_y) - float(y), float(tip_x) - float(x)))
        found.append(MOST_INHG * ((angle + 225.0) % 360.0) / SWEEP_DEG)
    return tuple(found)


def gauges_in_hpa(figure: Figure | None) -> Figure | None:
    """A drawing whose gauges have a scale in hectopascals; one without a gauge in inches is unchanged."""
    if figure is None or INHG.words not in figure.alt:
        return figure
    svg, alt = figure.svg, figure.alt
    for x, y, r in (map(float, face) for face in _FACE.findall(figure.svg)):
        for numbers in (1, 2, 4):
            old, new = ("".join(_scale_parts(x, y, r, numbers, scale)) for scale in (INHG, HPA))
            svg = svg.replace(old, new)
    for read in needle_inhg(figure.svg):
        # Drawn values are in tenths, or in hectopascals.
        told = next((words for words in map(gauge_words, (round(read, 1), read)) if words in alt), "")
        alt = alt.replace(told, gauge_words(read, HPA), 1) if told else alt
    arc = " to ".join(f"{hpa_of(end):.0f}" for end in GREEN_ARC_INHG)
    alt = alt.replace("from 4.5 to 5.5", f"from {arc}").replace("from 0 to 8", f"from 0 to {HPA.most}")
    alt = alt.replace(INHG.words, HPA.words).replace(INHG.half, HPA.half)
    svg = svg.replace(f"<title>{figure.alt}</title>", f"<title>{alt}</title>").replace(">inHg<", ">hPa<")
    return Figure(svg, alt)


CROSS = 'stroke-width="4"'
PLACES = {name: 46.0 + 89.0 * place for place, name in enumerate((*GYROS, COMPASS))}


def _box(x: float, y: float, wide: float, high: float, words: str) -> list[str]:
    box = f'<rect x="{x - wide / 2.0:g}" y="{y - high / 2.0:g}" width="{wide:g}" height="{high:g}" rx="3"/>'
    return [box, label(x, y + 5.0, 14.0, words)]


def _crossed(x: float, y: float, reach: float) -> str:
    far = 2.0 * reach
    return f'<path d="M{x - reach:g} {y - reach:g}l{far:g} {far:g}m0 {-far:g}l{-far:g} {far:g}" {CROSS}/>'


def _joined(names: Sequence[str]) -> str:
    return " and ".join(names) or "no instrument"


def plumbing_figure(plumbing: Plumbing, failed: str) -> Figure:
    """What a panel runs on: suction pipes in solid lines, wires in broken ones, the failed part crossed."""
    parts: list[str] = []
    pipe, wire = 'stroke-width="2.6"', 'stroke-width="1.8" stroke-dasharray="6 4"'
    sucked, wired = plumbing.on(SUCTION), plumbing.on(BUS)
    parts += _box(38.0, 15.0, 64.0, 22.0, "filter")
    for name, x in PLACES.items():
        parts.append(f'<circle cx="{x:g}" cy="76" r="33"/>')
        parts.append(label(x, 81.0, 14.0, name))
    first = PLACES[ATTITUDE]
    for gyro in sucked:
        x, under = PLACES[gyro], "26" if gyro == ATTITUDE else "15"
        parts.append(f'<path d="M{x:g} {under}V43M{x:g} 109V148" {pipe}/>')
    if sucked:
        last = PLACES[sucked[-1]]
        feed = f"M70 15H{last:g}" if last > first else ""
        parts.append(f'<path d="{feed}M{PLACES[sucked[0]]:g} 148H338" {pipe}/>')
    # The regulator opens to the cabin.
    parts += _box(338.0, 164.0, 36.0, 20.0, "reg.")
    parts.append(f'<path d="M338 148v6" {pipe}/>')
    pumps = dict(zip(pump_names(plumbing), (176.0, 272.0), strict=False))
    for pump, x in pumps.items():
        parts.append(f'<path d="M{x:g} 148V175M{x:g} 211V224" {pipe}/><circle cx="{x:g}" cy="193" r="18"/>')
        parts.append(label(x + 44.0, 198.0, 14.0, pump if plumbing.pumps > 1 else "pump"))
    parts += _box(226.0, 236.0, 150.0, 24.0, "engine")
    # The words stand under the bus: there the cross does not cover them.
    parts += [_box(62.0, 222.0, 106.0, 24.0, "")[0], label(62.0, 255.0, 14.0, "electrical bus")]
    for place, gyro in enumerate(wired):
        x, y = PLACES[gyro] - 12.0, 121.0 + 11.0 * place
        down = 14.0 + 13.0 * place
        parts.append(f'<path d="M{down:g} 210V{y:g}H{x:g}V107" {wire}/>')
    crossed = {**{pump: (x, 193.0) for pump, x in pumps.items()}, BUS: (62.0, 222.0)}
    parts.append(_crossed(*crossed[failed], 18.0))
    pumped = "two pumps" if plumbing.pumps > 1 else "a pump"
    alt = (
        f"Suction pipes lead from a filter through the instruments for {_joined(sucked)} to a manifold with "
        f"a regulator and {pumped} on the engine. Wires lead from the electrical bus to {_joined(wired)}. "
        f"Nothing leads to the compass. The {failed} is crossed out."
    )
    return svg_figure(360.0, 262.0, parts, alt)


class Taxiing(NamedTuple):
    """What the faces of a panel show in a taxi turn.

    Attributes:
        right: the turn is to the right, by the drawing from above.
        before_deg: what the heading indicator showed before the turn.
        now_deg: and now.
        turn_shown: +1 the turn indicator shows a turn to the right, −1 to the left, 0 none.
        ball: +1 the ball is to the right of the middle, −1 to the left, 0 in the middle.
        horizon_deg: tilt of the attitude indicator's horizon.
    """

    right: bool
    before_deg: float
    now_deg: float
    turn_shown: int
    ball: int
    horizon_deg: float


def _turned(deg: float, x: float, y: float) -> str:
    return f'transform="rotate({deg:g} {x:g} {y:g})"'


def _turn_face(x: float, y: float, shown: Taxiing) -> list[str]:
    parts = [f'<circle cx="{x:g}" cy="{y:g}" r="46"/>']
    for side in (-1, 1):
        level = f"M{x + side * 43.0:g} {y - 8.0:g}h{-side * 9.0:g}"
        parts.append(line(f"{level}M{x + side * 40.0:g} {y + 10.0:g}l{-side * 8.0:g} -3"))
        parts.append(label(x + side * 24.0, y - 22.0, 14.0, "R" if side > 0 else "L"))
    tilted = _turned(17.0 * shown.turn_shown, x, y - 8.0)
    parts.append(line(f"M{x - 30.0:g} {y - 8.0:g}h60m-30 0v-9", 3.2, tilted))
    parts.append(line(f"M{x - 24.0:g} {y + 20.0:g}q24 14 48 0v11q-24 14 -48 0z"))
    parts.append(line(f"M{x - 6.0:g} {y + 26.0:g}v12m12 -12v12"))
    drop = 32.0 if shown.ball == 0 else 29.0
    parts.append(f'<circle cx="{x + 16.0 * shown.ball:g}" cy="{y + drop:g}" r="5" fill="{INK}"/>')
    return parts


def _horizon_face(x: float, y: float, tilt_deg: float) -> list[str]:
    return [
        f'<circle cx="{x:g}" cy="{y:g}" r="46"/>',
        f'<path transform="rotate({tilt_deg:g} {x:g} {y:g})" d="M{x - 45.0:g} {y:g}h90" stroke-width="2"/>',
        f'<path d="M{x - 26.0:g} {y:g}h16l10 8l10 -8h16" stroke-width="3.2"/>',
    ]


def taxi_panel(shown: Taxiing) -> Figure:
    """The path on the ground from above, and the faces: heading before and now, turn indicator, horizon."""
    side = 1.0 if shown.right else -1.0
    x = 55.0
    parts = [
        f'<path d="M{x - side * 18.0:g} 104V70q0 -34 {side * 34.0:g} -34" stroke-width="3"/>',
        f'<path d="M{x + side * 14.0:g} 29l{side * 12.0:g} 7l{-side * 12.0:g} 7" stroke-width="3"/>',
        label(x, 124.0, 14.0, "ground path"),
    ]
    for centre, heading, words in ((180.0, shown.before_deg, "before"), (298.0, shown.now_deg, "now")):
        parts += _small_dial(heading, centre, 56.0)
        parts.append(label(centre, 124.0, 14.0, f"heading {words}"))
    parts += _turn_face(120.0, 180.0, shown)
    parts += _horizon_face(250.0, 180.0, shown.horizon_deg)
    parts.append(label(120.0, 245.0, 14.0, "turn, with its ball"))
    parts.append(label(250.0, 245.0, 14.0, "attitude"))
    sides = {1: "right", -1: "left"}
    turned = f"a turn to the {sides[shown.turn_shown]}" if shown.turn_shown else "no turn"
    ball = f"to the {sides[shown.ball]} of the middle" if shown.ball else "in the middle"
    tilt = "level" if not shown.horizon_deg else f"tilted by about {abs(shown.horizon_deg):.0f} degrees"
    alt = (
        f"Seen from above, the path turns to the {'right' if shown.right else 'left'}. The heading indicator "
        f"showed {shown.before_deg:03.0f} before and shows {shown.now_deg:03.0f} now. The turn indicator "
        f"shows {turned}, its ball is {ball}. The horizon of the attitude indicator is {tilt}."
    )
    return svg_figure(360.0, 252.0, parts, alt)


def _small_dial(heading_deg: float, x: float, y: float) -> list[str]:
    r = 48.0
    parts = [f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}"/>']
    for mark in range(0, 360, 10):
        turn = f'transform="rotate({mark - heading_deg:.1f} {x:g} {y:g})"'
        long = mark % 30 == 0
        parts.append(f'<path {turn} d="M{x:g} {y - r:.1f}v{9 if long else 5}"/>')
        if mark % 90 == 0:
            parts.append(label(x, y - r + 23.0, 15.0, "NESW"[mark // 90], f" {turn}"))
        elif long:
            parts.append(label(x, y - r + 21.0, 12.5, f"{mark // 10}", f" {turn}"))
    parts.append(f'<path d="M{x:g} {y - r - 6.0:g}v14" stroke-width="3.2"/>')
    return parts


def two_faces(dial_deg: float, compass_deg: float) -> Figure:
    """A heading indicator and the magnetic compass beside it."""
    parts = dial_parts(dial_deg, 92.0, 96.0, 78.0)
    parts += window_parts(compass_deg, 190.0, 40.0, 168.0, 40.0)
    parts.append(label(92.0, 202.0, 14.0, "heading indicator"))
    parts.append(label(274.0, 170.0, 14.0, "compass"))
    alt = (
        f"A heading indicator with marks every 5 degrees: {dial_words(dial_deg)}. The window of a magnetic "
        f"compass: {window_words(compass_deg)}."
    )
    return svg_figure(360.0, 210.0, parts, alt)


def two_dials(first_deg: float, then_deg: float, words: Sequence[str]) -> Figure:
    """A heading indicator at two times, with the words below each."""
    parts: list[str] = []
    for x, heading, told in zip((90.0, 270.0), (first_deg, then_deg), words, strict=True):
        parts += dial_parts(heading, x, 90.0, 76.0)
        parts.append(label(x, 194.0, 14.0, told))
    told = "; ".join(f"{w}: {dial_words(h)}" for w, h in zip(words, (first_deg, then_deg), strict=True))
    return svg_figure(360.0, 202.0, parts, f"A heading indicator with marks every 5 degrees, twice. {told}.")


def then_and_now(first_deg: float, moved_deg: float, minutes: float) -> Figure:
    """A heading indicator at first, and so many minutes later when its reading has moved."""
    words = ("at first", f"{minutes:.0f} minutes later")
    return two_dials(first_deg % 360.0, (first_deg + moved_deg) % 360.0, words)


# The letters of drawn moments, and the orders in which they may stand.
LETTERS = "PQRS"
ORDERS = tuple("".join(order) for order in permutations("0123"))


def letter_of(kind: str, kinds: Sequence[str], order: str) -> str:
    """The letter of a kind of moment that is drawn in such an order of kinds."""
    return LETTERS[order.index(str(kinds.index(kind)))]


class Moment(NamedTuple):
    """A moment of a flight.

    Attributes:
        bank_deg: right positive, as seen from behind.
        speed: 'steady', 'rising' or 'falling'.
        where: such as heading and deviation.
        since: such as how long it has flown level.
    """

    bank_deg: float
    speed: str
    where: str
    since: str


def moments_figure(moments: Sequence[Moment]) -> Figure:
    """Moments side by side, with letters: the aircraft from behind, its speed, and other words."""
    parts: list[str] = []
    high = 130.0
    for place, moment in enumerate(moments):
        left, top = 180.0 * (place % 2), high * (place // 2)
        x, y = left + 104.0, top + 38.0
        edge = f'x="{left + 3:g}" y="{top + 3:g}" width="174" height="{high - 6:g}" rx="4"'
        parts.append(f'<rect {edge} stroke-width=".8"/>')
        parts.append(label(left + 17.0, top + 24.0, 17.0, LETTERS[place]))
        parts.append(line(f"M{x - 62.0:g} {y:g}h124", 0.8, 'stroke-dasharray="3 3"'))
        banked = _turned(moment.bank_deg, x, y)
        parts.append(line(f"M{x - 46.0:g} {y:g}h92M{x:g} {y:g}v-22m-12 0h24", 3.0, banked))
        parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="8" fill="#fff" stroke-width="3"/>')
        parts.append(label(left + 90.0, top + 84.0, 14.0, f"speed {moment.speed}"))
        parts.append(label(left + 90.0, top + 102.0, 14.0, moment.where))
        parts.append(label(left + 90.0, top + 120.0, 14.0, moment.since))
    told = " ".join(
        f"{LETTERS[place]}: {_attitude_words(m.bank_deg)}, speed {m.speed}, {m.where}, {m.since}."
        for place, m in enumerate(moments)
    )
    return svg_figure(
        360.0, high * ((len(moments) + 1) // 2), parts, f"Moments of a flight, from behind. {told}"
    )


def _attitude_words(bank_deg: float) -> str:
    if not bank_deg:
        return "wings level"
    return f"banked {abs(bank_deg):.0f} degrees to the {'right' if bank_deg > 0.0 else 'left'}"


def axis_plan(axis_deg: float, nose_deg: float | None = None) -> Figure:
    """From above: the spin axis of a heading indicator, and an aircraft with its nose on a heading."""
    middle, r = SIZE / 2.0, SIZE / 2.0 - 26.0
    parts = [f'<circle cx="{middle:g}" cy="{middle:g}" r="{r:g}" stroke-width=".8"/>']
    for mark in range(0, 360, 5):
        length = 12 if mark % 30 == 0 else 8 if mark % 10 == 0 else 4
        parts.append(line(f"M{middle:g} {middle - r:.1f}v{length}", 1.2, _turned(mark, middle, middle)))
        if mark % 30 == 0:
            angle = math.radians(mark)
            x, y = middle + (r + 13.0) * math.sin(angle), middle - (r + 13.0) * math.cos(angle)
            parts.append(label(x, y + 5.0, 14.0, mark_of(mark)))
    long = r - 13.0
    dashed = _turned(axis_deg, middle, middle) + ' stroke-dasharray="8 4"'
    parts.append(line(f"M{middle:g} {middle - long:g}V{middle + long:g}", 1.8, dashed))
    told, whose = "", "a"
    if nose_deg is not None:
        body = f"M{middle:g} {middle - 50.0:g}l-6 14v56h12v-56z"
        wings = f"M{middle - 46.0:g} {middle + 2.0:g}h92v-9h-92zM{middle - 17.0:g} {middle + 20.0:g}h34"
        parts.append(line(body + wings, 2.2, _turned(nose_deg, middle, middle)))
        told = f"an aircraft with its nose towards {(nose_deg - 1) % 360 + 1:03.0f} and "
        whose = "its"
    alt = (
        f"Seen from above, with north at the top and marks every 5 degrees: {told}the spin axis of {whose} "
        f"heading indicator, a broken line from {axis_deg % 180.0:03.0f} to {axis_deg % 180.0 + 180.0:03.0f}."
    )
    return svg_figure(SIZE, SIZE, parts, alt)


def attitude_face(bank_deg: float) -> Figure:
    """An attitude indicator in a level turn, with marks of bank every 5 degrees up to 60."""
    middle, r = SIZE / 2.0, SIZE / 2.0 - 8.0
    parts = [f'<circle cx="{middle:g}" cy="{middle:g}" r="{r:g}"/>']
    for mark in range(-60, 61, 5):
        turned = _turned(mark, middle, middle)
        parts.append(
            line(
                f"M{middle:g} {middle - r:g}v{16 if mark % 30 == 0 else 11 if mark % 10 == 0 else 6}",
                1.2,
                turned,
            )
        )
        if mark and mark % 30 == 0:
            parts.append(label(middle, middle - r + 32.0, 14.0, f"{abs(mark)}", f" {turned}"))
    tilted = _turned(-bank_deg, middle, middle)
    parts.append(line(f"M{middle - r + 1:g} {middle:g}h{2.0 * r - 2:g}", 2.0, tilted))
    pointer = f"M{middle:g} {middle - r + 17.0:g}l-7 14h14z"
    parts.append(f'<path {tilted} d="{pointer}" fill="{INK}"/>')
    parts.append(line(f"M{middle - 52.0:g} {middle:g}h30l22 16l22 -16h30", 4.0))
    alt = (
        "An attitude indicator with marks of bank every 5 degrees: the horizon is tilted, and its pointer "
        f"stands {abs(bank_deg):.0f} degrees to the {'left' if bank_deg > 0.0 else 'right'} of the middle."
    )
    return svg_figure(SIZE, SIZE, parts, alt)
