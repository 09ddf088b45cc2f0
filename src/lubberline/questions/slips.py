"""Slips in working and reading: wrong answers that do not come from a wrong model, each with its correction.

The misconceptions of `simulation.misconceptions` change a law, a relation of faults or the meaning of a
term; slips do not.
"""

from functools import cache
from typing import NamedTuple

from lubberline.simulation.misconceptions import misconception


@cache
def mend_of(idea: str) -> str:
    """The sentence that corrects the misconception or slip with this id."""
    if idea in SLIPS:
        return SLIPS[idea].mend
    return misconception(idea).mend


class Slip(NamedTuple):
    """A slip.

    Attributes:
        statement: what went wrong, as the student would put it.
        mend: the sentence that corrects it.
    """

    statement: str
    mend: str


SLIPS: dict[str, Slip] = {
    "balance-left-out": Slip("I forgot the latitude nut.", "The latitude nut acts wherever the aircraft is."),
    "gimballing-sign-turned": Slip(
        "In a bank the card moves to the other side.",
        "In a bank the card lags as the nose turns from the spin axis to the line square to it, and catches"
        " up after that.",
    ),
    "bank-taken-for-the-error": Slip(
        "The card is wrong by as much as the aircraft banks.",
        "The error depends on the cosine of the bank: at usual banks it is only a few degrees.",
    ),
    "gimballing-places-exchanged": Slip(
        "There is no error half way between the spin axis and the line square to it.",
        "The error is near its largest half way between the spin axis and the line square to it. It is zero"
        " with the nose along the spin axis or square to it.",
    ),
    "gimballing-stays": Slip(
        "The error of a bank remains until the card is set again.",
        "Gimballing error comes and goes with the bank. With the wings level there is none.",
    ),
    "gimballing-in-proportion": Slip(
        "Twice the bank, twice the error.",
        "The error depends on the cosine of the bank, so it grows roughly with the square of the bank.",
    ),
    "both-the-wrong-way": Slip(
        "I added east and subtracted west.",
        "From true to compass, subtract east and add west; from compass to true, add east and subtract west.",
    ),
    "whole-difference": Slip(
        "I took the whole difference between true and compass.",
        "Variation is the difference between true and magnetic; deviation is the difference between "
        "magnetic and compass.",
    ),
    "coefficients-swapped": Slip(
        "I used the other pair of headings.",
        "Coefficient B comes from east and west, C from north and south.",
    ),
    "coefficient-not-halved": Slip(
        "I forgot to halve the difference.",
        "The coefficient appears with opposite signs on the two headings, so half of the difference counts.",
    ),
    "coefficient-sign-turned": Slip(
        "I subtracted the wrong way round.", "B is east minus west and C is north minus south, each halved."
    ),
    "deviation-card-one-row": Slip(
        "I used the row with the larger correction.",
        "Between two rows of the card, use a correction between the two.",
    ),
    "deviation-same-everywhere": Slip(
        "Deviation belongs to the aircraft, so it is the same everywhere.",
        "The aircraft's own field is the same everywhere, but its effect on the compass depends on the "
        "Earth's field at the place.",
    ),
    "deviation-with-the-field": Slip(
        "Where the field is weaker, the deviation is smaller.",
        "Where the Earth's field is weaker, the aircraft's own field turns the card further.",
    ),
    "compass-window-mirrored": Slip(
        "I counted towards the right.",
        "In the window of this compass the figures decrease towards the right.",
    ),
    "compass-shows-reciprocal": Slip(
        "I read the other end of the card.", "The figure behind the lubber line is the heading itself."
    ),
    "rate-one-is-a-degree-a-second": Slip(
        "Rate one is one degree a second.", "Rate one is three degrees a second."
    ),
    "rate-one-in-one-minute": Slip(
        "Rate one is a full circle in one minute.", "At rate one a full circle takes two minutes."
    ),
    "turn-the-long-way": Slip(
        "I turned the other way round.", "The direction of the turn decides how far it is."
    ),
    "rate-one-bank-always-same": Slip(
        "Rate one means 30 degrees of bank.", "The bank for a given rate of turn increases with speed."
    ),
    "rate-one-bank-falls-with-speed": Slip(
        "The faster the aircraft, the less bank it needs for rate one.",
        "The bank for a given rate of turn increases with speed.",
    ),
    "error-counted-twice": Slip("I counted the error twice.", "The error counts only once."),
    "known-error-applied-backwards": Slip(
        "It reads too low, so I steer a higher reading.",
        "An instrument that reads too low shows less than the heading, so steer a lower reading.",
    ),
    "known-error-left-out": Slip(
        "I steered the heading that I wanted.", "A known error of the instrument must be allowed for."
    ),
    "dial-read-backwards": Slip("I counted the wrong way.", "On this dial headings increase clockwise."),
    "dial-read-at-the-foot": Slip(
        "I read the bottom of the dial.", "The heading is read under the lubber line at the top."
    ),
    "dial-read-at-the-side": Slip(
        "I read the side of the dial.", "The heading is read under the lubber line at the top."
    ),
    "earth-part-by-rotor-speed": Slip(
        "With a slow rotor all drift is larger.",
        "Only drift caused by torques grows as the rotor slows; apparent wander stays the same.",
    ),
    "drift-means-bearings": Slip(
        "If it drifts, the bearings are worn.",
        "Drift alone does not show which fault it is; the suction gauge and the run-down tell the faults "
        "apart.",
    ),
    "rotor-takes-much-longer": Slip(
        "A rotor takes an hour to change its speed.",
        "A rotor of this size takes about five minutes to spin up and about ten to run down.",
    ),
    "housing-never-meets-its-stop": Slip(
        "An aircraft does not reach the stops.",
        "With the spin axis in line, the inner gimbal (housing) tilts by as much as the aircraft, up to its"
        " stop.",
    ),
    "gauge-tap-mixed-up": Slip(
        "I thought of a gauge that is connected elsewhere.",
        "What a clogged filter does to the gauge depends on where the gauge is connected.",
    ),
    "fault-leaves-it-alone": Slip(
        "That fault does not show there.",
        "Ask what this fault changes in the flow of air, and where this reading is taken.",
    ),
    "gauge-at-the-other-power": Slip(
        "I gave the value for the other power.", "A fault shows differently at idle and in cruise."
    ),
    "setting-shows-the-fault": Slip(
        "Setting it once more will show the fault.",
        "Right after it is set, even a faulty instrument reads what it was set to.",
    ),
    "swing-shows-the-gyro": Slip(
        "I would swing the compass.",
        "A swing checks the compass; it shows nothing about a gyro or its suction.",
    ),
    "usual-range-mixed-up": Slip(
        "I had another range in mind.", "Handbooks usually give 4.5 to 5.5 inHg in cruise."
    ),
    "tumble-goes-by-attitude-alone": Slip(
        "So steep an attitude makes it tumble on any heading.",
        "What counts is how far the inner gimbal (housing) is tilted: pitch tilts it when the nose is along"
        " the spin axis, bank tilts it when the nose is square to the axis.",
    ),
    "error-means-wrong-setting": Slip(
        "If it is wrong, it was set wrongly.",
        "A wrong setting shows as a single step at the moment of setting.",
    ),
    "slope-over-half-an-hour": Slip(
        "I read the change at the end of the line.", "The rate per hour is twice the change in half an hour."
    ),
    "slope-of-a-quarter": Slip(
        "I multiplied by four.", "To get the rate per hour, double the change in half an hour."
    ),
    "error-sense-turned": Slip(
        "I mixed up high and low.", "A line that goes down means that the reading falls."
    ),
    "step-left-out": Slip("I would do this now.", "Another step must come before this one."),
    "step-done-again": Slip("I would do this next.", "This step has been done already."),
    "steps-in-another-order": Slip("I had another order in mind.", "Each step depends on the one before it."),
    "gyro-not-required": Slip(
        "A compass is enough for any flight.",
        "Where the ground does not show the way, the rules require more than a compass.",
    ),
    "gyro-always-required": Slip(
        "Every aeroplane must have a heading indicator.",
        "The rules require a direction indicator for some kinds of flight only.",
    ),
    "gyro-enough-in-the-north": Slip(
        "A direction indicator is enough in the north too.",
        "Near the magnetic pole there is nothing reliable to set a direction indicator to, so the rules "
        "require a source of direction that is not magnetic.",
    ),
    "non-magnetic-everywhere": Slip(
        "A source of direction that is not magnetic is required everywhere.",
        "A source of direction that is not magnetic is required only where the compass is unreliable.",
    ),
    "figure-of-another-rule": Slip("I had another figure in mind.", "Each limit has a paragraph of its own."),
    "name-of-another-error": Slip("I mixed up two names.", "Each error has its own name and its own cause."),
    "errors-of-the-other-instrument": Slip(
        "I thought of the other instrument.",
        "The gyro and the compass have different errors, each with its own name.",
    ),
}
