"""Compass turning and acceleration errors, rolling out by compass, timed turns."""

import math

from lubberline.angles import wrapped_deg
from lubberline.instruments.compass.card import CompassLaws
from lubberline.questions.models import (
    COMPASS,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    facts,
    hanging_card_deg,
    laws_of,
    notation,
    statements_model,
    under,
)
from lubberline.questions.panel_figures import attitude_face
from lubberline.units import KT_MPS, STANDARD_GRAVITY_MPS2

MODEL = "Go by a card that hangs square to apparent gravity and is at rest, not by a rule of thumb."
SOURCE = "Williams, Compass Errors (2001), equations 2 to 4"
HUNG = "a card hung along apparent gravity and the field projected on it, by vectors"


def turning_deg(heading_deg: float, bank_deg: float, dip_deg: float, laws: CompassLaws = COMPASS) -> float:
    """Compass heading in a coordinated turn (right bank +, northern dip +): Williams, equation 2."""
    dip = math.radians(abs(dip_deg) if laws.compass_northern_everywhere else dip_deg)
    p, f = math.radians(heading_deg), math.radians(laws.compass_turning * bank_deg)
    shown = math.atan2(math.sin(p) * math.cos(f) - math.tan(dip) * math.sin(f), math.cos(p))
    return math.degrees(shown) % 360.0


def accelerating_deg(
    heading_deg: float, along_g: float, dip_deg: float, laws: CompassLaws = COMPASS
) -> float:
    """Compass heading while speeding up (+) or slowing down: Williams, equations 3 and 4."""
    dip = math.radians(abs(dip_deg) if laws.compass_northern_everywhere else dip_deg)
    p, e = math.radians(heading_deg), math.atan(laws.compass_acceleration * along_g)
    shown = math.atan2(math.sin(p), math.cos(p) * math.cos(e) + math.tan(dip) * math.sin(e))
    return math.degrees(shown) % 360.0


def off_deg(shown_deg: float, heading_deg: float) -> float:
    """How far a reading is from a heading, to either side."""
    return abs(wrapped_deg(shown_deg - heading_deg))


def _side(dip_deg: float) -> str:
    return "northern" if dip_deg > 0.0 else "southern"


def _turn_facts(d: Drawn) -> dict[str, str]:
    return {
        "heading": notation.heading(d["heading_deg"]),
        "side": "right" if d["bank_deg"] > 0.0 else "left",
        "bank": f"{abs(d['bank_deg']):.0f}°",
        "dip": f"{abs(d['dip_deg']):.0f}°",
        "half": _side(d["dip_deg"]),
    }


def _through(d: Drawn) -> Worked:
    heading, bank, dip = d["heading_deg"], d["bank_deg"], d["dip_deg"]
    shown = turning_deg(heading, bank, dip)
    latitude = math.degrees(math.atan(math.tan(math.radians(abs(dip))) / 2.0))
    error = wrapped_deg(shown - heading)
    ideas = ("set-it-in-the-turn", "compass-northern-everywhere", "compass-lag-and-lead-exchanged")
    return Worked(
        shown,
        (
            *under(ideas, lambda laws: turning_deg(heading, bank, dip, laws), COMPASS),
            Wrong("compass-leads-by-the-latitude", heading + math.copysign(latitude, error)),
        ),
        {
            **_turn_facts(d),
            "name": "north" if heading > 270.0 else "south",
            "behind": "behind" if error * bank < 0.0 else "ahead of",
            "size": f"{abs(error):.0f}°",
        },
        signs=2 + int(dip < 0.0),
        figure=attitude_face(bank),
    )


THROUGH = ItemModel(
    id="turning-through-north-or-south",
    pictured=True,
    topic="turning",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "heading_deg": draw.pick((360.0, 180.0)),
        "bank_deg": draw.signed(10, 15, 5),
        "dip_deg": draw.dip_deg(50.0, 70.0, 5.0),
    },
    work=_through,
    second=lambda d, believed: hanging_card_deg(d["heading_deg"], d["bank_deg"], 0.0, d["dip_deg"], believed),
    second_way=HUNG,
    words=Words(
        stem="In the {half} hemisphere, where the magnetic dip is {dip}, an aircraft turns level and "
        "coordinated, banked as its attitude indicator shows. What heading does its magnetic compass show as "
        "the nose passes {name} ({heading})? " + MODEL,
        reason="The turn is to the {side} with {bank} of bank. The card hangs square to apparent gravity, so "
        "the dip swings it round. As the nose passes {name} the compass is {behind} the nose by atan(tan "
        "{dip} × sin {bank}) = {size}, and shows {key}.",
        feedback={
            **dict.fromkeys(
                ("set-it-in-the-turn", "compass-northern-everywhere", "compass-lag-and-lead-exchanged"),
                "In this turn the compass is {behind} the nose by {size} as the nose passes {name}.",
            ),
            "compass-leads-by-the-latitude": "With {bank} of bank and a dip of {dip} the error is {size}.",
        },
    ),
    source=SOURCE,
    steps=4,
    notation=notation.HEADING,
    apart=5.0,
    agree=0.6,
    tolerance=2.0,
    least=1,
)


def _accelerating(d: Drawn) -> Worked:
    heading, along, dip = d["heading_deg"], d["along_g"], d["dip_deg"]
    shown = accelerating_deg(heading, along, dip)
    error = wrapped_deg(shown - heading)
    pole = "north" if math.cos(math.radians(shown)) > 0.0 else "south"
    ideas = ("compass-northern-everywhere", "accelerating-shows-south", "no-acceleration-error")
    return Worked(
        shown,
        under(ideas, lambda laws: accelerating_deg(heading, along, dip, laws), COMPASS),
        {
            "heading": notation.heading(heading),
            "doing": "speeds up" if along > 0.0 else "slows down",
            "along": f"{abs(along):.1f} g",
            "dip": f"{abs(dip):.0f}°",
            "half": _side(dip),
            "size": f"{abs(error):.0f}°",
            "pole": pole,
        },
        signs=2 + int(dip < 0.0) + int(along < 0.0),
    )


ACCELERATING = ItemModel(
    id="turning-speeding-up",
    topic="turning",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "heading_deg": draw.pick((90.0, 270.0)),
        "along_g": draw.signed(0.1, 0.2, 0.1),
        "dip_deg": draw.dip_deg(50.0, 70.0, 5.0),
    },
    work=_accelerating,
    second=lambda d, believed: hanging_card_deg(d["heading_deg"], 0.0, d["along_g"], d["dip_deg"], believed),
    second_way=HUNG,
    words=Words(
        stem="In the {half} hemisphere, where the magnetic dip is {dip}, an aircraft on a steady heading "
        "of {heading} {doing} at {along}. What heading does its magnetic compass show? " + MODEL,
        reason="The dip swings the tilted card towards {pole}, here by {size}: it shows {key}.",
        feedback={
            **dict.fromkeys(
                ("compass-northern-everywhere", "accelerating-shows-south"),
                "In the {half} hemisphere the compass then swings towards {pole}: {key}.",
            ),
            "no-acceleration-error": "On {heading} at {along} the error is {size}.",
        },
    ),
    source=SOURCE,
    steps=3,
    notation=notation.HEADING,
    apart=4.0,
    agree=0.6,
    tolerance=2.0,
    least=1,
)


def _when(ahead_deg: float) -> str:
    """When to roll out if the compass is so far ahead of the nose, in the direction of the turn."""
    return "at" if abs(ahead_deg) < 3.0 else "past" if ahead_deg > 0.0 else "before"


def _roll_out(d: Drawn) -> Worked:
    heading, bank, dip = d["heading_deg"], d["bank_deg"], d["dip_deg"]
    sense = math.copysign(1.0, bank)

    def when(laws: CompassLaws) -> str:
        if laws.compass_swapped:
            shown = accelerating_deg(heading, math.tan(math.radians(bank)), dip)
        else:
            shown = turning_deg(heading, bank, dip, laws)
        return _when(sense * wrapped_deg(shown - heading))

    ideas = (
        "compass-lag-and-lead-exchanged",
        "compass-northern-everywhere",
        "set-it-in-the-turn",
        "compass-errors-exchanged",
    )
    return Worked(
        when(COMPASS),
        (
            *(Wrong(idea, when(laws_of(idea, COMPASS))) for idea in ideas),
            Wrong("compass-lags-in-every-turn", "before"),
            Wrong("compass-leads-in-every-turn", "past"),
        ),
        {**_turn_facts(d), "shown": notation.heading(turning_deg(heading, bank, dip))},
        signs=2 + int(dip < 0.0),
    )


def _roll_out_second(d: Drawn, believed: Belief) -> str:
    """Whether the hung card's reading is ahead of the nose in the direction of the turn, or behind."""
    shown = hanging_card_deg(d["heading_deg"], d["bank_deg"], 0.0, d["dip_deg"], believed)
    ahead = math.remainder(shown - d["heading_deg"], 360.0) * (1.0 if d["bank_deg"] > 0.0 else -1.0)
    found = "before" if ahead <= -3.0 else "past" if ahead >= 3.0 else "at"
    return believed.step("sense of every turn", found)


ROLL_OUT = ItemModel(
    id="turning-roll-out",
    topic="turning",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "heading_deg": draw.pick((360.0, 360.0, 180.0, 180.0, 90.0, 270.0)),
        "bank_deg": draw.signed(12, 18, 1),
        "dip_deg": draw.dip_deg(55.0, 70.0, 5.0),
    },
    work=_roll_out,
    second=_roll_out_second,
    second_way=HUNG,
    words=Words(
        stem="In the {half} hemisphere (magnetic dip {dip}) a pilot without a heading indicator turns {side} "
        "with {bank} of bank and wants to end the turn on a heading of {heading}. By the usual rule for "
        "turns by compass, and apart from the few degrees needed to roll the wings level, when must the "
        "pilot roll out?",
        reason="In this turn the compass shows about {shown} as the nose passes {heading}. The pilot must "
        "roll out {key}.",
        feedback=dict.fromkeys(
            (
                *("compass-lag-and-lead-exchanged", "compass-northern-everywhere", "set-it-in-the-turn"),
                *("compass-errors-exchanged", "compass-lags-in-every-turn", "compass-leads-in-every-turn"),
            ),
            "In this turn the compass shows about {shown} as the nose passes {heading}.",
        ),
        options={
            "before": "before the compass reaches {heading}",
            "at": "when the compass shows {heading}",
            "past": "after the compass has passed {heading}",
        },
    ),
    source="undershoot north, overshoot south in the northern hemisphere: FAA-H-8083-15B, compass turns",
    steps=3,
    most=2,
)


def _turn_size(d: Drawn) -> float:
    return off_deg(turning_deg(d["heading_deg"], 12.0, 65.0), d["heading_deg"])


def _speed_size(d: Drawn) -> float:
    return off_deg(accelerating_deg(d["heading_deg"], 0.1, 65.0), d["heading_deg"])


def _hung_size(d: Drawn, bank_deg: float, along_g: float, believed: Belief) -> float:
    shown = hanging_card_deg(d["heading_deg"], bank_deg, along_g, 65.0, believed)
    return abs(math.remainder(shown - d["heading_deg"], 360.0))


_NAMES = {360.0: "north", 90.0: "east", 180.0: "south", 270.0: "west"}


def _cardinal(draw: Draw) -> dict[str, float | str]:
    return {"heading_deg": draw.pick(tuple(_NAMES)), **draw.half()}


def _claimed(d: Drawn, size_deg: float) -> dict[str, str]:
    return {
        "name": _NAMES[d["heading_deg"]],
        "size": f"{size_deg:.0f}°",
        "half": d.get("half", "northern"),
    }


CLAIMS = statements_model(
    id="turning-claims",
    topic="turning",
    level="recall",
    claims=(
        Statement(
            "acceleration",
            "In the {half} hemisphere, where the dip is 65°, a compass whose card hangs square to apparent "
            "gravity is wrong by 5° or more while the aircraft speeds up at 0.1 g on a steady heading of "
            "{name}.",
            ("compass-errors-exchanged", "no-acceleration-error"),
            _cardinal,
            lambda d: _speed_size(d) >= 5.0,
            lambda d, believed: _hung_size(d, 0.0, 0.1, believed) >= 5.0,
            "On {name}, with a dip of 65° and at 0.1 g, the error is {size}.",
            lambda d: _claimed(d, _speed_size(d)),
        ),
        Statement(
            "turning",
            "In the {half} hemisphere, where the dip is 65°, a compass whose card hangs square to apparent "
            "gravity is wrong by 10° or more as the nose passes {name} in a right turn with 12° of bank.",
            ("compass-errors-exchanged", "set-it-in-the-turn"),
            _cardinal,
            lambda d: _turn_size(d) >= 10.0,
            lambda d, believed: _hung_size(d, 12.0, 0.0, believed) >= 10.0,
            "As the nose passes {name}, with a dip of 65° and 12° of bank, the error is {size}.",
            lambda d: _claimed(d, _turn_size(d)),
        ),
    ),
    source=SOURCE,
    second_way=HUNG,
    steps=2,
)


def rate_one_bank_deg(speed_kt: float) -> float:
    """Bank of a level turn at 3 deg a second: tan(bank) = rate x speed / g."""
    return math.degrees(math.atan(math.radians(3.0) * speed_kt * KT_MPS / STANDARD_GRAVITY_MPS2))


def _timed(d: Drawn) -> Worked:
    start, by = d["start_deg"], d["by_deg"]
    end = start + by
    return Worked(
        abs(by) / 3.0,
        (
            Wrong("rate-one-is-a-degree-a-second", abs(by)),
            Wrong("rate-one-in-one-minute", abs(by) / 6.0),
            Wrong("turn-the-long-way", (360.0 - abs(by)) / 3.0),
        ),
        {
            "start": notation.heading(start),
            "end": notation.heading(end),
            "side": "right" if by > 0.0 else "left",
            "degrees": f"{abs(by):.0f}°",
        },
        signs=1,
    )


def _timed_second(d: Drawn, believed: Belief) -> float:
    circle_s: float = 360.0 / believed.step("rate one", 360.0 / 120.0)
    by_deg: float = believed.step("size of the turn", abs(d["by_deg"]))
    return by_deg / 360.0 * circle_s


TIMED = ItemModel(
    id="turning-timed-turn",
    topic="turning",
    level="apply",
    kind="number",
    draw=lambda draw: {"start_deg": draw.heading_deg(10), "by_deg": draw.signed(40, 160, 10)},
    work=_timed,
    second=_timed_second,
    second_way="the fraction of a full circle, which takes two minutes",
    words=Words(
        stem="The heading indicator has failed. The pilot makes a timed turn to the {side} at rate one from "
        "{start} to {end}. How many seconds must the turn last?",
        reason="A turn to the {side} from {start} to {end} is {degrees}, which takes {key} at 3° a second.",
        feedback={
            **dict.fromkeys(
                ("rate-one-is-a-degree-a-second", "rate-one-in-one-minute"),
                "A turn of {degrees} at 3° a second takes {key}.",
            ),
            "turn-the-long-way": "To the {side} the turn is {degrees}.",
        },
    ),
    source="standard rate 3 deg/s, two minutes for 360 deg: FAA-H-8083-15B, chapter 5",
    steps=2,
    notation=notation.Notation("s", 1.0, lambda value: f"{value:.0f} s"),
    apart=4.0,
    agree=0.6,
    tolerance=1.0,
    least=1,
    asks=facts("rate one"),
)


def _bank(d: Drawn) -> Worked:
    speed = d["speed_kt"]
    return Worked(
        rate_one_bank_deg(speed),
        (
            Wrong("rate-one-bank-always-same", 30.0),
            Wrong("rate-one-bank-falls-with-speed", rate_one_bank_deg(10000.0 / speed)),
        ),
        {"speed": f"{speed:.0f}", "rule": f"{speed / 10.0:.0f} + 7 = {speed / 10.0 + 7.0:.0f}°"},
    )


def _bank_second(d: Drawn, believed: Belief) -> float:
    """The bank whose level turn takes two minutes, by bisection on the time of the circle."""
    low, high = 1.0, 60.0
    speed_mps = believed.step("speed of the turn", d["speed_kt"]) * 1852.0 / 3600.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        radius_m = speed_mps**2 / (9.80665 * math.tan(math.radians(middle)))
        seconds = 2.0 * math.pi * radius_m / speed_mps
        low, high = (middle, high) if seconds > 120.0 else (low, middle)
    return believed.step("bank of rate one", 0.5 * (low + high))


BANK = ItemModel(
    id="turning-rate-one-bank",
    topic="turning",
    level="recall",
    kind="number",
    draw=lambda draw: {"speed_kt": draw.step(80.0, 150.0, 5.0)},
    work=_bank,
    second=_bank_second,
    second_way="the bank whose circle takes two minutes, found by bisection",
    words=Words(
        stem="About how many degrees of bank does a level turn at rate one (3° a second) need at a true "
        "airspeed of {speed} kt? (Whole degrees; the usual rule of thumb is near enough.)",
        reason="By tan(bank) = rate × speed / g it is {key}; the rule 'a tenth of the speed plus 7' gives "
        "{rule}.",
        feedback={
            "rate-one-bank-always-same": "At {speed} kt the bank is {key}.",
            "rate-one-bank-falls-with-speed": "At {speed} kt the bank is {key}.",
        },
    ),
    source="rate, speed and bank of a turn: FAA-H-8083-25C, chapter 5",
    steps=2,
    notation=notation.DEGREES,
    apart=4.5,
    agree=0.7,
    also_right=lambda d: (d["speed_kt"] / 10.0 + 7.0, 0.15 * d["speed_kt"]),
    tolerance=2.0,
    least=1,
    tells=facts("rate one"),
)


MODELS = (THROUGH, ACCELERATING, ROLL_OUT, CLAIMS, TIMED, BANK)
