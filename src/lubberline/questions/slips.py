"""Slips in working and reading: wrong answers that do not come from a wrong model, each with its correction.

The misconceptions of `simulation.misconceptions` change a law, a relation of faults or the meaning of a
term; a slip replaces one step of working. One that declares no step names no idea: an option of it stays out
of the diagnosis.
"""

import math
from functools import cache

from lubberline.questions.face_slips import (
    FACE_SLIPS,
    GAUGE_SLIPS,
    Slip,
    always,
    negated,
    other,
    plus,
    times,
)
from lubberline.simulation.misconceptions import ALL, misconception


@cache
def mend_of(idea: str, *, southern: bool = False) -> str:
    """The sentence that corrects the misconception or slip with this id, in a hemisphere."""
    if idea in SLIPS:
        return SLIPS[idea].mend
    return misconception(idea).mend_at(southern=southern)


def said_in(text: str, *, southern: bool) -> str:
    """Corrections of wrong ideas in a text that names no place, as they are said in a hemisphere."""
    for idea in ALL if southern else ():
        text = text.replace(idea.mend, idea.mend_at(southern=True))
    return text


SLIPS: dict[str, Slip] = {
    **GAUGE_SLIPS,
    **FACE_SLIPS,
    "balance-left-out": Slip(
        "I forgot the latitude nut.",
        "The latitude nut acts wherever the aircraft is.",
        step="nut",
        instead=times(0.0),
    ),
    "gimballing-sign-turned": Slip(
        "In a bank the card moves to the other side.",
        "In a bank the card lags as the nose turns from the spin axis to the line square to it, and catches"
        " up after that.",
        step="gimballing error",
        instead=negated,
    ),
    "bank-taken-for-the-error": Slip(
        "The card is wrong by as much as the aircraft banks.",
        "The error depends on the cosine of the bank: at usual banks it is only a few degrees.",
        step="largest error by bank",
        instead=other,
    ),
    "gimballing-places-exchanged": Slip(
        "There is no error half way between the spin axis and the line square to it.",
        "The error is near its largest half way between the spin axis and the line square to it. It is zero"
        " with the nose along the spin axis or square to it.",
        step="angle from the axis",
        instead=plus(45.0),
    ),
    "gimballing-stays": Slip(
        "The error of a bank remains until the card is set again.",
        "Gimballing error comes and goes with the bank. With the wings level there is none.",
        step="error with the wings level",
        instead=other,
    ),
    "gimballing-in-proportion": Slip(
        "Twice the bank, twice the error.",
        "The error depends on the cosine of the bank, so it grows roughly with the square of the bank.",
        step="largest error in proportion",
        instead=other,
    ),
    "both-the-wrong-way": Slip(
        "I added east and subtracted west.",
        "From true to compass, subtract east and add west; from compass to true, add east and subtract west.",
        step="sense of the chain",
        instead=negated,
    ),
    "whole-difference": Slip(
        "I took the whole difference between true and compass.",
        "Variation is the difference between true and magnetic; deviation is the difference between "
        "magnetic and compass.",
        step="difference of two headings",
        instead=other,
    ),
    "coefficients-swapped": Slip(
        "I used the other pair of headings.",
        "Coefficient B comes from east and west, C from north and south.",
        step="pair of headings",
        instead=other,
    ),
    "coefficient-not-halved": Slip(
        "I forgot to halve the difference.",
        "The coefficient appears with opposite signs on the two headings, so half of the difference counts.",
        step="half of the difference",
        instead=times(2.0),
    ),
    "coefficient-sign-turned": Slip(
        "I subtracted the wrong way round.",
        "B is east minus west and C is north minus south, each halved.",
        step="half of the difference",
        instead=negated,
    ),
    "deviation-card-one-row": Slip(
        "I used the row with the larger correction.",
        "Between two rows of the card, use a correction between the two.",
        step="between two rows",
        instead=other,
    ),
    "deviation-same-everywhere": Slip(
        "Deviation belongs to the aircraft, so it is the same everywhere.",
        "The aircraft's own field is the same everywhere, but its effect on the compass depends on the "
        "Earth's field at the place.",
        step="share of the field",
        instead=always(1.0),
    ),
    "deviation-with-the-field": Slip(
        "Where the field is weaker, the deviation is smaller.",
        "Where the Earth's field is weaker, the aircraft's own field turns the card further.",
        step="share of the field",
        instead=lambda share: 1.0 / share,
    ),
    "compass-window-mirrored": Slip(
        "I counted towards the right.",
        "In the window of this compass the figures decrease towards the right.",
        step="figures of the window",
        instead=lambda heading: 20.0 * round(heading / 10.0) - heading,
    ),
    "compass-shows-reciprocal": Slip(
        "I read the other end of the card.",
        "The figure behind the lubber line is the heading itself.",
        step="end of the card",
        instead=plus(180.0),
    ),
    "rate-one-is-a-degree-a-second": Slip(
        "Rate one is one degree a second.",
        "Rate one is three degrees a second.",
        step="rate one",
        instead=always(1.0),
    ),
    "rate-one-in-one-minute": Slip(
        "Rate one is a full circle in one minute.",
        "At rate one a full circle takes two minutes.",
        step="rate one",
        instead=always(6.0),
    ),
    "turn-the-long-way": Slip(
        "I turned the other way round.",
        "The direction of the turn decides how far it is.",
        step="size of the turn",
        instead=lambda by: 360.0 - by,
    ),
    "rate-one-bank-always-same": Slip(
        "Rate one means 30 degrees of bank.",
        "The bank for a given rate of turn increases with speed.",
        step="bank of rate one",
        instead=always(30.0),
    ),
    "rate-one-bank-falls-with-speed": Slip(
        "The faster the aircraft, the less bank it needs for rate one.",
        "The bank for a given rate of turn increases with speed.",
        step="speed of the turn",
        instead=lambda knots: 10000.0 / knots,
    ),
    "compass-lags-in-every-turn": Slip(
        "In every turn the compass lags.",
        "The compass lags in a turn through the pole of its own hemisphere and leads through the other; on "
        "east and west it is nearly right.",
        step="sense of every turn",
        instead=always("before"),
    ),
    "compass-leads-in-every-turn": Slip(
        "In every turn the compass leads.",
        "The compass lags in a turn through the pole of its own hemisphere and leads through the other; on "
        "east and west it is nearly right.",
        step="sense of every turn",
        instead=always("past"),
    ),
    "error-counted-twice": Slip(
        "I counted the error twice.", "The error counts only once.", step="known error", instead=times(2.0)
    ),
    "known-error-applied-backwards": Slip(
        "It reads too low, so I steer a higher reading.",
        "Steer a lower reading if the instrument reads too low, and a higher one if it reads too high.",
        step="known error",
        instead=negated,
    ),
    "known-error-left-out": Slip(
        "I steered the heading that I wanted.",
        "A known error of the instrument must be allowed for.",
        step="known error",
        instead=times(0.0),
    ),
    "dial-read-backwards": Slip(
        "I counted the wrong way.",
        "On this dial headings increase clockwise.",
        step="figures of the dial",
        instead=lambda heading: 20.0 * math.floor(heading / 10.0) + 10.0 - heading,
    ),
    "dial-read-at-the-foot": Slip(
        "I read the bottom of the dial.",
        "The heading is read under the lubber line at the top.",
        step="place on the dial",
        instead=plus(180.0),
    ),
    "dial-read-at-the-side": Slip(
        "I read the side of the dial.",
        "The heading is read under the lubber line at the top.",
        step="place on the dial",
        instead=plus(90.0),
    ),
    "earth-part-by-rotor-speed": Slip(
        "With a slow rotor all drift is larger.",
        "Only drift caused by torques grows as the rotor slows; apparent wander stays the same.",
        step="Earth and rotor",
        instead=lambda rate, share: rate / share,
    ),
    "drift-means-bearings": Slip(
        "If it drifts, the bearings are worn.",
        "Drift alone does not show which fault it is; the suction gauge and the run-down tell the faults "
        "apart.",
        step="fault behind a drift",
        instead=always("bearings"),
    ),
    "always-the-pump": Slip(
        "If the drive is at fault, it is the pump.",
        "A weak pump shows at idle, where it has nothing to spare, and hardly in cruise.",
        step="fault behind a drift",
        instead=always("pump"),
    ),
    "always-the-regulator": Slip(
        "If the drive is at fault, it is the regulator.",
        "A regulator set too low limits the suction in cruise and leaves it alone at idle.",
        step="fault behind a drift",
        instead=always("regulator"),
    ),
    "always-the-filter": Slip(
        "If the drive is at fault, it is the filter.",
        "A clogged filter starves the instruments; what the gauge shows depends on where it is connected.",
        step="fault behind a drift",
        instead=always("filter"),
    ),
    "check-tells-little": Slip(
        "I would look at this first.", "A check is worth as much as the two faults differ in what it shows."
    ),
    "usual-range-too-low": Slip(
        "A gauge at 3 to 4 is right.",
        "Handbooks usually give 4.5 to 5.5 inHg in cruise.",
        step="usual range",
        instead=always((3.0, 4.0)),
    ),
    "high-and-low-exchanged": Slip(
        "I mixed up high and low.",
        "Above the range is too high, below it too low.",
        step="side of the range",
        instead=lambda side: {"low": "high", "high": "low"}.get(side, side),
    ),
    "rotor-takes-much-longer": Slip(
        "A rotor takes an hour to change its speed.",
        "So small a rotor spins up and runs down within minutes, not hours.",
        step="minutes of the rotor",
        instead=always(60.0),
    ),
    "housing-never-meets-its-stop": Slip(
        "An aircraft does not reach the stops.",
        "With the spin axis in line, the inner gimbal (housing) tilts by as much as the aircraft, up to its"
        " stop.",
        step="stop",
        instead=always(False),
    ),
    "gauge-tap-mixed-up": Slip(
        "I thought of a gauge that is connected elsewhere.",
        "What a clogged filter does to the gauge depends on where the gauge is connected.",
        step="tap of the gauge",
        instead=other,
    ),
    "fault-leaves-it-alone": Slip(
        "That fault does not show there.",
        "Ask what this fault changes in the flow of air, and where this reading is taken.",
        step="fault",
        instead=always(""),
    ),
    "gauge-at-the-other-power": Slip(
        "I gave the value for the other power.",
        "A fault shows differently at idle and in cruise.",
        step="power",
        instead=other,
    ),
    "setting-shows-the-fault": Slip(
        "Setting it once more will show the fault.",
        "Right after it is set, even a faulty instrument reads what it was set to.",
        step="what tells two faults apart",
        instead=lambda told: {**told, "set": math.inf},
    ),
    "swing-shows-the-gyro": Slip(
        "I would swing the compass.",
        "A swing checks the compass; it shows nothing about a gyro or its suction.",
        step="what tells two faults apart",
        instead=lambda told: {**told, "swing": math.inf},
    ),
    "usual-range-mixed-up": Slip(
        "I had another range in mind.",
        "Handbooks usually give 4.5 to 5.5 inHg in cruise.",
        step="usual range",
        instead=always((5.5, 6.5)),
    ),
    "tumble-goes-by-attitude-alone": Slip(
        "So steep an attitude makes it tumble on any heading.",
        "What counts is how far the inner gimbal (housing) is tilted: pitch tilts it when the nose is along"
        " the spin axis, bank tilts it when the nose is square to the axis.",
        step="angle of full tilt",
        instead=other,
    ),
    "error-means-wrong-setting": Slip(
        "If it is wrong, it was set wrongly.",
        "A wrong setting shows as a single step at the moment of setting.",
        step="cause of an error",
        instead=always("setting"),
    ),
    "error-means-the-earth": Slip(
        "If it drifts away, it is the Earth.",
        "Apparent wander is steady on a constant heading. Steps, swings and drift that gets faster have "
        "other causes.",
        step="cause of an error",
        instead=always("earth"),
    ),
    "error-means-a-bank": Slip(
        "If it is wrong, it has been banked.",
        "The error of a bank comes and goes with the bank.",
        step="cause of an error",
        instead=always("bank"),
    ),
    "error-means-the-drive": Slip(
        "If it is wrong, its drive is failing.",
        "As the rotor runs down, drift gets faster and faster. Other errors do not need a failing drive.",
        step="cause of an error",
        instead=always("pump"),
    ),
    "slope-over-half-an-hour": Slip(
        "I read the change at the end of the line.",
        "The rate per hour is twice the change in half an hour.",
        step="half hours in an hour",
        instead=always(1.0),
    ),
    "slope-of-a-quarter": Slip(
        "I multiplied by four.",
        "To get the rate per hour, double the change in half an hour.",
        step="half hours in an hour",
        instead=always(4.0),
    ),
    "error-sense-turned": Slip(
        "I mixed up high and low.",
        "A line that goes down means that the reading falls.",
        step="sense of the line",
        instead=negated,
    ),
    "step-left-out": Slip(
        "I would do this now.",
        "Each step has to wait for the one that it needs.",
        step="step that follows",
        instead=other,
    ),
    "step-done-again": Slip(
        "I would do this next.",
        "This step has been done already.",
        step="step that went before",
        instead=other,
    ),
    "straight-to-the-last-step": Slip(
        "I would do the last step first.",
        "The last step is the last because it needs the others.",
        step="last step",
        instead=other,
    ),
    "begun-again": Slip(
        "I would begin again from the start.",
        "What has been done need not be done again.",
        step="first step",
        instead=other,
    ),
    "order-as-listed": Slip(
        "I took them as they are listed.",
        "The list says nothing about the order. Ask what each step needs before it.",
        step="order",
        instead=other,
    ),
    "limit-too-strict": Slip(
        "I had a stricter figure in mind.",
        "The rule is less strict: each limit has its own paragraph.",
        step="figure of the rule",
        instead=times(0.5),
    ),
    "error-of-both-instruments": Slip(
        "Both instruments have it.",
        "The gyro and the compass have different errors, each with its own name.",
        step="instruments with an error",
        instead=always("both"),
    ),
    "steps-in-another-order": Slip("I had another order in mind.", "Each step depends on the one before it."),
    "gyro-not-required": Slip(
        "A compass is enough for any flight.",
        "Where the ground does not show the way, the rules require more than a compass.",
        step="what the rule asks",
        instead=always("compass"),
    ),
    "gyro-always-required": Slip(
        "Every aeroplane must have a heading indicator.",
        "The rules require a direction indicator for some kinds of flight only.",
        step="what the rule asks",
        instead=lambda asks: "gyro" if asks == "compass" else asks,
    ),
    "gyro-enough-in-the-north": Slip(
        "A direction indicator is enough in the north too.",
        "Near the magnetic pole there is nothing reliable to set a direction indicator to, so the rules "
        "require a source of direction that is not magnetic.",
        step="what the rule asks",
        instead=lambda asks: "gyro" if asks == "non-magnetic" else asks,
    ),
    "non-magnetic-everywhere": Slip(
        "A source of direction that is not magnetic is required everywhere.",
        "A source of direction that is not magnetic is required only where the compass is unreliable.",
        step="what the rule asks",
        instead=always("non-magnetic"),
    ),
    "figure-of-another-rule": Slip(
        "I had another figure in mind.",
        "The rule is stricter: each limit has its own paragraph.",
        step="figure of the rule",
        instead=times(2.0),
    ),
    "name-of-another-error": Slip("I mixed up two names.", "Each error has its own name and its own cause."),
    "errors-of-the-other-instrument": Slip(
        "I thought of the other instrument.",
        "The gyro and the compass have different errors, each with its own name.",
        step="instrument",
        instead=other,
    ),
}
