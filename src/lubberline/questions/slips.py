"""Slips of working and reading: wrong answers that come from no wrong model, with what mends each.

They stand beside the misconceptions of `simulation.misconceptions`, which change a law, a relation of
faults, or the meaning of a term.
"""

from functools import cache
from typing import NamedTuple

from lubberline.simulation.misconceptions import misconception


@cache
def mend_of(idea: str) -> str:
    """The sentence that mends the misconception or slip with this id."""
    if idea in SLIPS:
        return SLIPS[idea].mend
    return misconception(idea).mend


class Slip(NamedTuple):
    """A slip.

    Attributes:
        statement: what went wrong, as its owner would put it.
        mend: the sentence that mends it.
    """

    statement: str
    mend: str


SLIPS: dict[str, Slip] = {
    "balance-left-out": Slip(
        "I forgot the balance.", "A latitude balance is at work wherever the aircraft is."
    ),
    "gimballing-sign-turned": Slip(
        "In a bank the card is thrown to the other side.",
        "In a bank the card lags on the way from the spin axis to the line across it, and catches up after "
        "that.",
    ),
    "bank-taken-for-the-error": Slip(
        "The card is wrong by as much as the aircraft banks.",
        "The bank comes in by its cosine: a few degrees of error at usual banks.",
    ),
    "gimballing-places-exchanged": Slip(
        "There is no error half way between the axis and the line across it.",
        "Half way between is where the error is near its largest; it is zero along the axis and square to "
        "it.",
    ),
    "gimballing-stays": Slip(
        "What a bank does to the card stays until it is set again.",
        "Gimballing error comes and goes with the bank; with the wings level nothing of it is left.",
    ),
    "gimballing-in-proportion": Slip(
        "Twice the bank, twice the error.",
        "The error goes by the bank's cosine, so it grows with about its square.",
    ),
    "both-the-wrong-way": Slip(
        "I added what is east and took away what is west.",
        "From true to compass east is taken away, from compass to true it is added; west the other way "
        "about.",
    ),
    "whole-difference": Slip(
        "I took the whole difference between true and compass.",
        "Variation lies between true and magnetic, deviation between magnetic and compass.",
    ),
    "coefficients-swapped": Slip(
        "I took the other pair of headings.",
        "Coefficient B comes from east and west, C from north and south.",
    ),
    "coefficient-not-halved": Slip(
        "I forgot to halve the difference.",
        "The two headings show the coefficient with opposite signs, so half of it counts.",
    ),
    "coefficient-sign-turned": Slip(
        "I subtracted the wrong way round.", "B is east less west, C is north less south, each halved."
    ),
    "deviation-card-one-row": Slip(
        "I took the row with the larger correction.",
        "Between two rows the correction is taken between the two.",
    ),
    "deviation-same-everywhere": Slip(
        "Deviation goes with the aircraft, so it is the same everywhere.",
        "The aircraft's own field goes with it, but what it does to the compass depends on the Earth's "
        "field there.",
    ),
    "deviation-with-the-field": Slip(
        "Where the field is weaker, deviation is smaller.",
        "Where the Earth holds the card less, the aircraft's own field turns it more.",
    ),
    "compass-window-mirrored": Slip(
        "I counted towards the right.", "In the window of this compass the figures fall towards the right."
    ),
    "compass-shows-reciprocal": Slip(
        "I took the other end of the card.", "The figure behind the lubber line is the heading itself."
    ),
    "rate-one-is-a-degree-a-second": Slip(
        "Rate one is one degree a second.", "Rate one is three degrees a second."
    ),
    "rate-one-in-one-minute": Slip(
        "Rate one is a circle in a minute.", "At rate one a circle takes two minutes."
    ),
    "turn-the-long-way": Slip("I turned the other way round.", "The side of the turn decides how far it is."),
    "rate-one-bank-always-same": Slip(
        "Rate one means 30 degrees of bank.", "The bank for a rate grows with the speed."
    ),
    "rate-one-bank-falls-with-speed": Slip(
        "The faster, the less bank for rate one.", "The bank for a rate grows with the speed."
    ),
    "error-counted-twice": Slip("I counted it twice.", "The error comes in once."),
    "known-error-applied-backwards": Slip(
        "It reads too low, so I steer a higher reading.",
        "An instrument that reads too low shows less than the heading; so less is steered by it.",
    ),
    "known-error-left-out": Slip(
        "I steered what I wanted.", "What an instrument is known to be wrong by belongs in it."
    ),
    "dial-read-backwards": Slip("I counted to the wrong side.", "On this dial headings rise clockwise."),
    "dial-read-at-the-foot": Slip(
        "I read the foot of the dial.", "The heading stands under the lubber line at the top."
    ),
    "dial-read-at-the-side": Slip(
        "I read the side of the dial.", "The heading stands under the lubber line at the top."
    ),
    "earth-part-by-rotor-speed": Slip(
        "With a slow rotor all drift is larger.",
        "Only what torques do grows as the rotor slows; the Earth turns as ever.",
    ),
    "drift-means-bearings": Slip(
        "If it drifts, the bearings are worn.",
        "Drift alone names no fault: suction, run-down and gauge tell them apart.",
    ),
    "rotor-takes-much-longer": Slip(
        "A rotor takes an hour to change its speed.",
        "A rotor of this size comes up in about five minutes and runs down in about ten.",
    ),
    "housing-never-meets-its-stop": Slip(
        "An aircraft does not reach the stops.",
        "With the spin axis in line, the housing tilts degree for degree up to its stop.",
    ),
    "gauge-tap-mixed-up": Slip(
        "I took the gauge for one at the other place.",
        "Where the gauge is connected decides what a clogged filter does to it.",
    ),
    "fault-leaves-it-alone": Slip(
        "That fault does not show there.",
        "Look at what this fault changes on the air's way, and where one looks.",
    ),
    "gauge-at-the-other-power": Slip(
        "I took the value for the other power.", "A fault shows otherwise at idle than in cruise."
    ),
    "setting-shows-the-fault": Slip(
        "One more setting will show it.",
        "Right after setting even a sick instrument reads what it was set to.",
    ),
    "swing-shows-the-gyro": Slip(
        "I would swing the compass.", "A swing is for the compass; it says nothing of a gyro or its suction."
    ),
    "usual-range-mixed-up": Slip(
        "I had another range in mind.", "Handbooks usually give 4.5 to 5.5 inHg in cruise."
    ),
    "tumble-goes-by-attitude-alone": Slip(
        "So steep an attitude makes it tumble on any heading.",
        "What counts is how far the housing is tilted: pitch tilts it with the nose along the spin axis, "
        "bank with the nose across it.",
    ),
    "error-means-wrong-setting": Slip(
        "If it is wrong, it was set wrongly.",
        "A wrong setting shows as a step at that moment and as nothing else.",
    ),
    "slope-over-half-an-hour": Slip(
        "I read the change off the end.", "A rate in an hour is twice the change in half an hour."
    ),
    "slope-of-a-quarter": Slip(
        "I multiplied by four.", "A picture of half an hour is doubled to give an hour."
    ),
    "error-sense-turned": Slip(
        "I had high and low mixed up.", "A line that goes down means that the reading falls."
    ),
    "step-left-out": Slip("I would do this already.", "This step needs another one before it."),
    "step-done-again": Slip("I would do this now.", "This step lies behind by now."),
    "steps-in-another-order": Slip(
        "I had another order in mind.", "Each step needs what the one before it gives."
    ),
    "gyro-not-required": Slip(
        "A compass is enough for any flight.",
        "Where the ground does not show the way, rules ask for more than a compass.",
    ),
    "gyro-always-required": Slip(
        "Every aeroplane must have a heading indicator.",
        "Rules ask for it by the kind of flight, not everywhere.",
    ),
    "gyro-enough-in-the-north": Slip(
        "A direction indicator is enough in the north too.",
        "Near the magnetic pole there is nothing right to set it by, so a source that is not magnetic is "
        "asked for.",
    ),
    "non-magnetic-everywhere": Slip(
        "A source that is not magnetic is needed everywhere.",
        "Only where the compass cannot be relied on is it asked for.",
    ),
    "figure-of-another-rule": Slip("I had another figure in mind.", "Each limit has its own paragraph."),
    "name-of-another-error": Slip("I mixed up two names.", "Each error has its name by what makes it."),
    "errors-of-the-other-instrument": Slip(
        "I thought of the other instrument.",
        "Gyro and compass go wrong by different causes, each with its own names.",
    ),
}
