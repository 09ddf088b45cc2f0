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
    hanging_card_deg,
    laws_of,
    notation,
    statements_model,
)
from lubberline.questions.panel_figures import attitude_face

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


def _through(d: Drawn) -> Worked:
    heading, bank, dip = d["heading_deg"], d["bank_deg"], d["dip_deg"]
    shown = turning_deg(heading, bank, dip)
    latitude = math.degrees(math.atan(math.tan(math.radians(abs(dip))) / 2.0))
    error = wrapped_deg(shown - heading)
    northern = turning_deg(heading, bank, dip, laws_of("compass-northern-everywhere", COMPASS))
    return Worked(
        shown,
        (
            Wrong(
                "set-it-in-the-turn", turning_deg(heading, bank, dip, laws_of("set-it-in-the-turn", COMPASS))
            ),
            Wrong("compass-northern-everywhere", northern),
            Wrong(
                "compass-lag-and-lead-exchanged",
                turning_deg(heading, bank, dip, laws_of("compass-lag-and-lead-exchanged", COMPASS)),
            ),
            Wrong("compass-leads-by-the-latitude", heading + math.copysign(latitude, error)),
        ),
        {
            "heading": notation.heading(heading),
            "side": "right" if bank > 0.0 else "left",
            "bank": f"{abs(bank):.0f}°",
            "dip": f"{abs(dip):.0f}°",
            "half": _side(dip),
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
        "coordinated, banked as its attitude indicator shows. About what heading does its magnetic compass "
        "show as the nose passes {name} ({heading})?",
        reason="The turn is to the {side} with {bank} of bank. The card hangs square to apparent gravity, so "
        "the dip swings it round. As the nose passes {name} the compass is {behind} the nose by atan(tan "
        "{dip} × sin {bank}) = {size}, and shows {key}.",
        feedback={
            "set-it-in-the-turn": "Here the compass is {behind} the nose by {size}.",
            "compass-northern-everywhere": "In this turn through {name} in the {half} hemisphere, the "
            "compass is {behind} the nose by {size}.",
            "compass-lag-and-lead-exchanged": "In this turn the compass is {behind} the nose as it passes "
            "{name}: {key}.",
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
    return Worked(
        shown,
        (
            Wrong(
                "compass-northern-everywhere",
                accelerating_deg(heading, along, dip, laws_of("compass-northern-everywhere", COMPASS)),
            ),
            Wrong(
                "accelerating-shows-south",
                accelerating_deg(heading, along, dip, laws_of("accelerating-shows-south", COMPASS)),
            ),
            Wrong(
                "no-acceleration-error",
                accelerating_deg(heading, along, dip, laws_of("no-acceleration-error", COMPASS)),
            ),
        ),
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
        "of {heading} {doing} at {along}. About what heading does its magnetic compass show?",
        reason="The card tilts with apparent gravity, and the dip swings its reading towards {pole}, here by "
        "{size}: it shows {key}.",
        feedback={
            "compass-northern-everywhere": "In the {half} hemisphere the compass of an aircraft that {doing} "
            "swings towards {pole}. It shows {key}.",
            "accelerating-shows-south": "In the {half} hemisphere the compass of an aircraft that {doing} "
            "swings towards {pole}. It shows {key}.",
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
        {
            "heading": notation.heading(heading),
            "side": "right" if bank > 0.0 else "left",
            "bank": f"{abs(bank):.0f}°",
            "dip": f"{abs(dip):.0f}°",
            "half": _side(dip),
            "shown": notation.heading(turning_deg(heading, bank, dip)),
        },
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
        stem="In the {half} hemisphere (magnetic dip {dip}) a pilot without a heading indicator turns "
        "{side} with {bank} of bank and wants to end the turn on a heading of {heading}. Apart from the few "
        "degrees needed to roll the wings level, when must the pilot roll out?",
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
            "At middle {half} latitudes, speeding up at 0.1 g on a steady heading of {name} makes the "
            "magnetic compass wrong by 5° or more.",
            ("compass-errors-exchanged", "no-acceleration-error"),
            _cardinal,
            lambda d: _speed_size(d) >= 5.0,
            lambda d, believed: _hung_size(d, 0.0, 0.1, believed) >= 5.0,
            "On {name}, with a dip of 65°, the error is {size}.",
            lambda d: _claimed(d, _speed_size(d)),
        ),
        Statement(
            "turning",
            "At middle {half} latitudes, in a right turn with 12° of bank, the magnetic compass is wrong "
            "by 10° or more as the nose passes {name}.",
            ("compass-errors-exchanged", "set-it-in-the-turn"),
            _cardinal,
            lambda d: _turn_size(d) >= 10.0,
            lambda d, believed: _hung_size(d, 12.0, 0.0, believed) >= 10.0,
            "As the nose passes {name}, with a dip of 65°, the error is {size}.",
            lambda d: _claimed(d, _turn_size(d)),
        ),
    ),
    source=SOURCE,
    second_way=HUNG,
    steps=2,
)

MODELS = (THROUGH, ACCELERATING, ROLL_OUT, CLAIMS)
