"""Setting the heading indicator: from what, when, which error remains."""

import math
from functools import cache

from lubberline.angles import wrapped_deg
from lubberline.questions import notation
from lubberline.questions.belief import Belief
from lubberline.questions.blackboard import laws_of, under, wander_deg_h
from lubberline.questions.model import (
    COMMON,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    facts,
    statements_model,
)
from lubberline.questions.models.turning import accelerating_deg, off_deg, turning_deg
from lubberline.questions.second_ways import COMPASS, PERFECT, flown_legs, hanging_card_deg, rates

SOURCE = "set to the magnetic compass in straight, unaccelerated flight: FAA-H-8083-15B, chapter 5"
PERFECT_SET = PERFECT + "[compass]\ndeviation_a_deg = {}\n"


@cache
def _set_error_deg(deviation_deg: float, believed: Belief) -> float:
    """Error of an engine's heading indicator right after it is set to a compass with this deviation."""
    legs = ('kind = "wait"; minutes = 1', 'kind = "set"; from = "compass"', 'kind = "wait"; minutes = 1')
    aircraft = PERFECT_SET.format(deviation_deg)
    flown = flown_legs(0.0, 90.0, 0.0, legs, aircraft, from_compass=True, believed=believed)
    error = float(flown.ledger.set_deviation_deg[-1])
    error = believed.of({"compass-heading": error, "magnetic-heading": 0.0}, "compass-heading")
    return believed.step("known error", error)


def _uncorrected(d: Drawn) -> Worked:
    deviation = d["deviation_deg"]
    return Worked(
        -deviation,
        (
            Wrong("deviation-the-wrong-way", deviation),
            Wrong("compass-heading-is-magnetic", 0.0),
            Wrong("error-counted-twice", -2.0 * deviation),
        ),
        {
            "compass": notation.heading(d["magnetic_deg"] - deviation),
            "deviation": notation.east_west(deviation),
            "magnetic": notation.heading(d["magnetic_deg"]),
        },
        signs=2,
    )


UNCORRECTED = ItemModel(
    id="setting-without-the-card",
    topic="setting",
    level="apply",
    kind="number",
    draw=lambda draw: {"magnetic_deg": draw.heading_deg(), "deviation_deg": draw.signed(3, 9, 1)},
    work=_uncorrected,
    second=lambda d, believed: _set_error_deg(d["deviation_deg"], believed),
    second_way="an engine flight set from a compass with that deviation: its ledger",
    words=Words(
        stem="On a steady heading the magnetic compass shows {compass}. The deviation on this heading is "
        "{deviation}. The pilot sets the heading indicator to {compass} and ignores the correction card. "
        "By how many degrees does the heading indicator then read too high (+) or too low (−) as a magnetic "
        "heading?",
        reason="The magnetic heading is {magnetic} and the heading indicator reads {compass}, which is "
        "{key}. The error of the compass is passed on to the heading indicator.",
        feedback={
            "deviation-the-wrong-way": "With a compass heading of {compass} and deviation {deviation} the "
            "magnetic heading is {magnetic}.",
            "compass-heading-is-magnetic": "The reading is {compass}, the magnetic heading {magnetic}.",
            "error-counted-twice": "The instrument reads {compass} while the magnetic heading is {magnetic}, "
            "which is {key}.",
        },
    ),
    source=SOURCE,
    steps=3,
    notation=notation.ERROR,
    apart=2.0,
    agree=0.6,
    tolerance=0.5,
)


def _in_turn(d: Drawn) -> Worked:
    heading, bank, dip = d["heading_deg"], d["bank_deg"], d["dip_deg"]
    return Worked(
        wrapped_deg(turning_deg(heading, bank, dip) - heading),
        under(
            ("set-it-in-the-turn", "compass-northern-everywhere", "compass-lag-and-lead-exchanged"),
            lambda laws: wrapped_deg(turning_deg(heading, bank, dip, laws) - heading),
            COMPASS,
        ),
        {
            "name": "north" if heading > 270.0 else "south",
            "side": "right" if bank > 0.0 else "left",
            "bank": f"{abs(bank):.0f}°",
            "dip": f"{abs(dip):.0f}°",
            "half": "northern" if dip > 0.0 else "southern",
            "shown": notation.heading(turning_deg(heading, bank, dip)),
        },
        signs=2 + int(dip < 0.0),
    )


IN_TURN = ItemModel(
    id="setting-in-a-turn",
    topic="setting",
    level="judge",
    kind="number",
    draw=lambda draw: {
        "heading_deg": draw.pick((360.0, 180.0)),
        "bank_deg": draw.signed(10, 16, 2),
        "dip_deg": draw.dip_deg(50.0, 70.0, 5.0),
    },
    work=_in_turn,
    second=lambda d, believed: math.remainder(
        hanging_card_deg(d["heading_deg"], d["bank_deg"], 0.0, d["dip_deg"], believed) - d["heading_deg"],
        360.0,
    ),
    second_way="a card hung along apparent gravity and the field projected on it, by vectors",
    words=Words(
        stem="In the {half} hemisphere (magnetic dip {dip}), in a {side} turn with {bank} of bank, a pilot "
        "sets the heading indicator to the compass reading just as the nose passes {name}. The compass has "
        "no deviation, and its card hangs square to apparent gravity; ignore gimballing error. By about how "
        "many degrees does the heading indicator read too high (+) or too low (−) after the aircraft has "
        "rolled out?",
        reason="As the nose passes {name} the compass shows about {shown}. The heading indicator is set to "
        "that reading and keeps the error: {key}.",
        feedback={
            "set-it-in-the-turn": "As the nose passes {name} the compass shows about {shown}: {key}.",
            "compass-northern-everywhere": "In this turn in the {half} hemisphere the compass shows about "
            "{shown} as the nose passes {name}: {key}.",
            "compass-lag-and-lead-exchanged": "In this turn the compass shows about {shown}: {key}.",
        },
    ),
    source=SOURCE + "; Williams, Compass Errors (2001), equation 2",
    steps=4,
    notation=notation.ERROR,
    apart=5.0,
    agree=0.6,
    tolerance=2.0,
    least=1,
)

MOMENTS = _TURN, _FAST, _STEADY = "turn", "fast", "steady"
# Without the correction card: the deviation on the heading of each moment.
DEVIATION_DEG = {_TURN: 0.0, _FAST: 1.0, _STEADY: 2.0}


def _moment_error(d: Drawn, name: str) -> float:
    """The error of the compass at each moment of the item, by the formulas."""
    if name == _TURN:
        return off_deg(turning_deg(d["turn_deg"], d["bank_deg"], d["dip_deg"]), d["turn_deg"])
    if name == _FAST:
        return off_deg(accelerating_deg(d["fast_deg"], 0.15, d["dip_deg"]), d["fast_deg"])
    return 2.0


def _moment_hung(d: Drawn, name: str, believed: Belief) -> float:
    """The same by the hung card, with the deviation."""
    heading, bank, along, deviation = {
        "turn": (d["turn_deg"], d["bank_deg"], 0.0, 0.0),
        "fast": (d["fast_deg"], 0.0, 0.15, 1.0),
        "steady": (d["steady_deg"], 0.0, 0.0, 2.0),
    }[name]
    shown = hanging_card_deg(heading, bank, along, d["dip_deg"], believed)
    return abs(math.remainder(shown - heading, 360.0)) + deviation


def _draw_moment(draw: Draw) -> dict[str, float | str]:
    """The heading of the right moment, and from it headings where the wrong moments have large errors."""
    steady = draw.heading_deg(10)
    # Beside east and west, or these would give the wrong moment away.
    aside = 20.0 * (round(steady / 10.0) % 2)
    return {
        "steady_deg": steady,
        "turn_deg": 360.0 if 90.0 < steady < 270.0 else 180.0,
        "bank_deg": 14.0 if steady < 180.0 else -14.0,
        "fast_deg": (80.0 if steady < 180.0 else 260.0) + aside,
        "dip_deg": -65.0 if (half := draw.half()) else 65.0,
        **half,
    }


MISTAKEN = {_TURN: ("set-it-in-the-turn", "compass-errors-exchanged"), _FAST: ("no-acceleration-error",)}


def _moment(d: Drawn) -> Worked:
    return Worked(
        min(MOMENTS, key=lambda name: _moment_error(d, name)),
        tuple(Wrong(idea, name) for name, ideas in MISTAKEN.items() for idea in ideas),
        {
            "turn": notation.heading(d["turn_deg"]),
            "side": "right" if d["bank_deg"] > 0.0 else "left",
            "fast": notation.heading(d["fast_deg"]),
            "steady": notation.heading(d["steady_deg"]),
            "turn_error": f"{_moment_error(d, _TURN):.0f}°",
            "speed_error": f"{_moment_error(d, _FAST):.0f}°",
            "half": "southern" if d["dip_deg"] < 0.0 else "northern",
            **{f"{name}_deviation": f"{size:.0f}°" for name, size in DEVIATION_DEG.items()},
        },
    )


MOMENT = ItemModel(
    id="setting-which-moment",
    topic="setting",
    level="recall",
    kind="choice",
    draw=_draw_moment,
    work=_moment,
    second=lambda d, believed: min(
        ("turn", "fast", "steady"), key=lambda name: _moment_hung(d, name, believed)
    ),
    second_way="the moment at which a card hung by vectors, with its deviation, is least wrong",
    words=Words(
        stem="The magnetic compass has no correction card. At which of these moments would the heading "
        "indicator be set to the compass with the least error? (Middle {half} latitude, smooth air.)",
        reason="Turning and acceleration errors are absent only in straight flight at a steady speed; there "
        "only the deviation of {steady_deviation} is left. The compass would be wrong by about {turn_error} "
        "in the turn and by about {speed_error} while speeding up.",
        feedback={
            "set-it-in-the-turn": "In this turn the compass would be wrong by about {turn_error}.",
            "compass-errors-exchanged": "In this turn the compass would be wrong by about {turn_error}.",
            "no-acceleration-error": "Here an acceleration of 0.15 g causes an error of about {speed_error}.",
        },
        options={
            _STEADY: "on {steady}, in straight flight at a steady speed, where the deviation is "
            "{steady_deviation}",
            _FAST: "on {fast}, in straight flight at a rising speed, where the deviation is {fast_deviation}",
            _TURN: "on {turn}, in a {side} turn at a steady rate, where the deviation is {turn_deviation}",
        },
    ),
    source=SOURCE,
    steps=1,
    by_text=True,
    most=2,
    asks=facts("moment to set"),
)


def _budget(d: Drawn) -> Worked:
    latitude, deviation, hours = d["latitude_deg"], d["deviation_deg"], d["minutes"] / 60.0
    drift = wander_deg_h(latitude) * hours
    return Worked(
        -deviation + drift,
        (
            Wrong("deviation-the-wrong-way", deviation + drift),
            Wrong("compass-heading-is-magnetic", drift),
            Wrong(
                "no-earth-wander",
                -deviation + wander_deg_h(latitude, laws=laws_of("no-earth-wander")) * hours,
            ),
            Wrong("rises-in-the-north", -deviation - drift),
        ),
        {
            "latitude": notation.latitude(latitude),
            "deviation": notation.east_west(deviation),
            "minutes": f"{d['minutes']:.0f}",
            "drift": notation.change(drift),
            "start": notation.error(-deviation),
        },
        signs=2 + int(latitude < 0.0),
    )


BUDGET = ItemModel(
    id="setting-then-drifting",
    topic="setting",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "latitude_deg": draw.latitude_deg(35, 70, 5),
        "deviation_deg": draw.signed(3, 7, 1),
        "minutes": draw.pick((20.0, 30.0, 40.0)),
    },
    work=_budget,
    second=lambda d, believed: (
        _set_error_deg(d["deviation_deg"], believed)
        + rates(d["latitude_deg"], believed=believed).earth_deg_h * d["minutes"] / 60.0
    ),
    second_way="the error after setting in an engine flight, and the engine's precession at that place",
    words=Words(
        stem="On the ground at {latitude} the pilot sets the heading indicator to the compass and forgets "
        "the deviation of {deviation}. The instrument has no friction and no latitude nut. The aircraft "
        "stays where it is, on the same heading. How wrong is the reading {minutes} minutes later?",
        reason="Right after it is set, the instrument reads {start}. In {minutes} minutes its reading "
        "{drift} from apparent wander. In total that is {key}.",
        feedback={
            "deviation-the-wrong-way": "Right after it is set, the instrument reads {start}.",
            "compass-heading-is-magnetic": "Right after it is set, the instrument reads {start}; add drift.",
            "no-earth-wander": "In {minutes} minutes the reading {drift} from apparent wander.",
            "rises-in-the-north": "In {minutes} minutes the reading {drift} from apparent wander.",
        },
    ),
    source=SOURCE,
    steps=5,
    notation=notation.ERROR,
    apart=2.0,
    agree=1.0,
)


@cache
def _left_deg(latitude_deg: float, error_deg: float, minutes: float, believed: Belief) -> float:
    """How wrong a card is that was set wrong, after an engine flight to the north."""
    legs = (
        'kind = "straight"; minutes = 0.1',
        f'kind = "set"; from = "truth"; misreading_deg = {error_deg}',
        f'kind = "straight"; minutes = {minutes}',
    )
    flown = flown_legs(latitude_deg, 0.0, 100.0, legs, PERFECT, believed=believed)
    return float(abs(flown.trace.heading_error_deg[-1]))


def _flown_left_deg(d: Drawn, believed: Belief) -> float:
    return _left_deg(d["latitude_deg"], d["error_deg"], d["minutes"], believed)


CLAIMS = statements_model(
    id="setting-claims",
    topic="setting",
    level="recall",
    claims=(
        Statement(
            "finds-north",
            "At {latitude} a heading indicator is set {error} too high by mistake. After {minutes} minutes "
            "of straight flight to the north it is still wrong by {more} than 8°.",
            ("finds-north-by-itself",),
            lambda draw: {
                "error_deg": draw.pick((15.0, 20.0, 25.0, 30.0)),
                "latitude_deg": draw.latitude_of((20.0, 30.0, 40.0, 50.0)),
                "minutes": draw.pick((5.0, 10.0)),
                "more": draw.pick(("more", "less")),
            },
            lambda d: (
                (abs(d["error_deg"] + wander_deg_h(d["latitude_deg"]) * d["minutes"] / 60.0) > 8.0)
                == (d["more"] == "more")
            ),
            lambda d, believed: (_flown_left_deg(d, believed) > 8.0) == (d["more"] == "more"),
            "In {minutes} minutes its reading {drift} from apparent wander, so most of the error of {error} "
            "remains.",
            lambda d: {
                "error": f"{d['error_deg']:.0f}°",
                "more": d["more"],
                "latitude": notation.latitude(d["latitude_deg"]),
                "minutes": f"{d['minutes']:.0f}",
                "drift": notation.change(wander_deg_h(d["latitude_deg"]) * d["minutes"] / 60.0),
            },
        ),
        Statement(
            "limit",
            "In an aircraft that stands still at {latitude}, a perfect heading indicator without a latitude "
            "nut stays within 3° for {minutes} minutes after it is set.",
            ("no-earth-wander", "same-wander-everywhere"),
            lambda draw: {
                "latitude_deg": draw.latitude_of((5.0, 10.0, 20.0, 50.0, 60.0, 70.0, -55.0, -15.0)),
                "minutes": draw.pick((15.0, 20.0)),
            },
            lambda d: abs(wander_deg_h(d["latitude_deg"])) * d["minutes"] / 60.0 <= 3.0,
            lambda d, believed: (
                abs(rates(d["latitude_deg"], believed=believed).earth_deg_h) * d["minutes"] / 60.0 <= 3.0
            ),
            "In {minutes} minutes at {latitude} the reading {drift} from apparent wander alone.",
            lambda d: {
                "latitude": notation.latitude(d["latitude_deg"]),
                "minutes": f"{d['minutes']:.0f}",
                "drift": notation.change(wander_deg_h(d["latitude_deg"]) * d["minutes"] / 60.0, 1),
            },
        ),
    ),
    source=SOURCE,
    second_way="engine flights",
    steps=2,
)


def _steer(d: Drawn) -> Worked:
    wanted, error = d["wanted_deg"], d["error_deg"]
    return Worked(
        wanted + error,
        (
            Wrong("known-error-applied-backwards", wanted - error),
            Wrong("known-error-left-out", wanted),
            Wrong("error-counted-twice", wanted + 2.0 * error),
        ),
        {"wanted": notation.heading(wanted), "error": notation.error(error)},
        signs=1,
    )


STEER = ItemModel(
    id="setting-steer-with-known-error",
    topic="setting",
    level="apply",
    kind="choice",
    draw=lambda draw: {"wanted_deg": draw.heading_deg(), "error_deg": draw.signed(3, 9, 1)},
    work=_steer,
    second=lambda d, believed: next(
        float(reading)
        for reading in range(1, 361)
        if abs(
            math.remainder(reading - believed.step("known error", d["error_deg"]) - d["wanted_deg"], 360.0)
        )
        < 0.5
    ),
    second_way="every reading tried: the one whose heading, without the error, is the one wanted",
    words=Words(
        stem="A check shows that the heading indicator reads {error}, and it cannot be set at the moment. "
        "What must it read for the aircraft to fly a magnetic heading of {wanted}?",
        reason="The instrument reads {error}, so on a heading of {wanted} it reads {key}.",
        feedback={
            "known-error-applied-backwards": "On a heading of {wanted} an instrument that reads {error} "
            "shows {key}.",
            "known-error-left-out": "On a heading of {wanted} an instrument that reads {error} shows {key}.",
            "error-counted-twice": "On a heading of {wanted} the instrument reads {key}.",
        },
    ),
    source=COMMON,
    steps=2,
    notation=notation.HEADING,
    apart=2.0,
    agree=0.1,
    most=2,
)


MODELS = (UNCORRECTED, IN_TURN, MOMENT, BUDGET, CLAIMS, STEER)
