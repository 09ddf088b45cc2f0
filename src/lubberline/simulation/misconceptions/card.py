"""Wrong ideas on what the card shows: in a bank, after a tumble, caged, and what it is set to."""

import math

from lubberline.simulation.misconceptions.idea import (
    GIMBAL_PATENT,
    GYRO_TEXT,
    HANDBOOK,
    PRACTICE,
    VARIATION_TEXT,
    Physical,
)

IDEAS: tuple[Physical, ...] = (
    Physical(
        "bank-leaves-card-alone",
        "A bank does not change what the card reads.",
        "Two gimbals work as a universal joint: in a bank the card departs from the true turn, most of all "
        "about half way between the spin axis and the line square to it. The error is gone when the wings "
        "are level again.",
        GIMBAL_PATENT,
        name="bank is harmless",
        law="bank",
        change={"geometry": 0.0},
        scene="bank_and_card",
    ),
    Physical(
        "pitch-leaves-card-alone",
        "Only a bank disturbs the card; a steep climb or dive does not.",
        "Pitch disturbs the card in the same way as bank. What counts is the angle between the card's axis "
        "and the vertical, and the direction of the spin axis.",
        GIMBAL_PATENT,
        name="pitch is harmless",
        law="pitch",
        change={"geometry_pitch": 0.0},
    ),
    Physical(
        "bank-error-by-quadrant",
        "The card's error in a bank depends on the compass quadrant you are flying in.",
        "The error depends on the angle from the nose to the spin axis. Where the knob turns the card "
        "alone, the axis may lie along any heading; only where the knob turns gimbal and card together does"
        " it lie at a fixed place on the card.",
        GIMBAL_PATENT,
        name="by the quadrant",
        law="bank",
        change={"bank_by_quadrant": 1.0},
        scene="bank_and_card",
    ),
    Physical(
        "levelling-does-no-harm",
        "The air jets only level the gyro; they cannot move the card.",
        "In a long turn the jets level the gyro to the wrong plane, and a small error remains when the "
        "wings are level again. With a slow rotor the error is large.",
        PRACTICE,
        name="jets are harmless",
        law="turns",
        change={"levelling": 0.0},
        scene="long_turn",
    ),
    Physical(
        "tumbled-card-spins-on",
        "After a gyro has tumbled, its card goes on spinning until you set it.",
        "With the rotor at speed the card swings round within seconds and then stops at a wrong reading, "
        "while the inner gimbal (housing) levels again over some minutes. A card that goes on spinning is "
        "the sign of a rotor that has run down.",
        HANDBOOK,
        name="spins on",
        law="tumbling",
        # A turn in two minutes: plain to see, and slow enough for the steps of the motion.
        change={"tumble_spin_rad_s": math.radians(3.0)},
        scene="tumble_and_recovery",
    ),
    Physical(
        "caged-card-goes-on",
        "Caging only protects the gyro; the card still shows the heading.",
        "A caged gyro is locked to the case and turns with it: the card shows the same number on every "
        "heading and must be set again after uncaging.",
        GYRO_TEXT,
        name="right when caged",
        law="caging",
        change={"caging": 0.0},
    ),
    Physical(
        "finds-north-by-itself",
        "The heading indicator finds north by itself, like a compass.",
        "The heading indicator cannot sense north. It shows what you last set, and drifts from there.",
        GYRO_TEXT,
        name="finds north",
        law="north",
        # A time constant of 2 min: clearly seen within a lesson, as the believer expects.
        change={"north_seeking_per_s": 1.0 / 120.0},
        scene="setting_it",
    ),
    Physical(
        "add-east-variation",
        "East variation is added to the true heading to get the magnetic heading.",
        "East variation is subtracted from true to get magnetic: magnetic = true − variation, east positive.",
        GYRO_TEXT,
        name="adds east",
        law="variation",
        change={"variation_sign": -1.0},
    ),
    Physical(
        "compass-points-to-true-north",
        "The compass points to true north, so a heading from the map can be set as it is.",
        "The compass points along the Earth's magnetic field, which differs from true north by the "
        "variation at that place.",
        VARIATION_TEXT,
        name="compass is true",
        law="variation",
        change={"variation_sign": 0.0},
    ),
)
