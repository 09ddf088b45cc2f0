"""Procedures as tables: steps in order, why each comes where it does, and where that is published.

Wording is our own. For teaching only: the aircraft's own handbook, the operator's checklists and the
instructor in command decide.
"""

from __future__ import annotations

from typing import NamedTuple


class Step(NamedTuple):
    """One step.

    Attributes:
        id: short.
        text: what to do.
        needs: ids of the steps that must be done before it.
        why: why it comes after those.
    """

    id: str
    text: str
    needs: tuple[str, ...]
    why: str


class Procedure(NamedTuple):
    """Steps that have one right order.

    Attributes:
        id: short.
        title: when it is done, to follow 'A pilot'.
        steps: in order.
        source: where that is published.
    """

    id: str
    title: str
    steps: tuple[Step, ...]
    source: str


BOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5 (from memory); common practice"

PROCEDURES: tuple[Procedure, ...] = (
    Procedure(
        "before-take-off",
        "prepares an air-driven heading indicator for take-off",
        (
            Step("start", "start the engine", (), "without the engine there is no suction"),
            Step(
                "wait",
                "allow about five minutes for the rotor to reach its speed",
                ("start",),
                "the rotor spins up only while the engine gives suction",
            ),
            Step(
                "set",
                "set the heading indicator to the compass while standing still",
                ("wait",),
                "a slow rotor would drift away from what was set",
            ),
            Step(
                "taxi",
                "watch in the taxiing turns that it follows the turn",
                ("set",),
                "only an instrument that runs and is set can be judged in a turn",
            ),
            Step(
                "runway",
                "compare it with the runway's heading when lined up",
                ("taxi",),
                "it is the last check, on a direction that is known",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "set-in-flight",
        "sets a heading indicator to the compass in flight",
        (
            Step(
                "steady",
                "fly straight and level at a steady speed",
                (),
                "the compass is right only without turning and acceleration",
            ),
            Step(
                "settle",
                "let the compass card come to rest",
                ("steady",),
                "a card that still swings shows anything",
            ),
            Step("read", "read the compass", ("settle",), "only a card at rest can be read"),
            Step(
                "card",
                "apply the deviation from the correction card",
                ("read",),
                "the deviation belongs to the heading that was read",
            ),
            Step(
                "knob",
                "set the heading indicator with its knob",
                ("card",),
                "what is set is the corrected heading",
            ),
            Step(
                "release",
                "see that the knob is released and the card follows a small turn",
                ("knob",),
                "it can be seen only after setting",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "suction-lost",
        "sees in cloud that the suction has gone to zero",
        (
            Step(
                "believe",
                "go over to the instruments that do not need suction, and keep control",
                (),
                "flying the aircraft comes first",
            ),
            Step(
                "cover",
                "cover the air-driven instruments that fail",
                ("believe",),
                "their slow and quiet failing misleads the eye",
            ),
            Step(
                "tell",
                "tell air traffic control that instruments have failed",
                ("cover",),
                "talking comes after flying",
            ),
        ),
        "AC 91-46 (1977), on partial panel; common practice: aviate, navigate, communicate",
    ),
    Procedure(
        "after-upset",
        "brings a heading indicator back into use after it tumbled",
        (
            Step("level", "fly straight and level", (), "the gyro levels to the aircraft as it is"),
            Step(
                "erect",
                "wait some minutes until the gyro has levelled, or cage and uncage it where it can be caged",
                ("level",),
                "it levels rightly only in level flight",
            ),
            Step(
                "set", "set it to the compass", ("erect",), "a tilted gyro goes on drifting after it was set"
            ),
            Step(
                "watch",
                "compare it with the compass again after a few minutes",
                ("set",),
                "damage shows as new drift",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "drift-report",
        "finds out whether a heading indicator drifts too much",
        (
            Step("set", "set it rightly in steady straight flight", (), "drift counts from a right setting"),
            Step("hold", "fly on straight for a quarter of an hour", ("set",), "drift needs time to show"),
            Step(
                "compare",
                "compare it with the corrected compass",
                ("hold",),
                "the difference now is the whole drift",
            ),
            Step(
                "earth",
                "take out what the Earth's turning and the journey explain",
                ("compare",),
                "even a perfect instrument does that much",
            ),
            Step(
                "report",
                "write what is left into the log for the engineer",
                ("earth",),
                "only that is the instrument's own",
            ),
        ),
        "about 3 degrees in 15 minutes, not counting the Earth's turning: FAA-H-8083-15B, chapter 5 (from "
        "memory)",
    ),
)
BY_ID = {procedure.id: procedure for procedure in PROCEDURES}
