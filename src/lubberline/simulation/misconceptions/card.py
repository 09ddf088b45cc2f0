"""Wrong ideas on what the card shows: in a bank, after a tumble, caged, and of what it is set to."""

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
        "Two gimbals work as a universal joint: in a bank the card departs from the true turn, most about "
        "half way between the spin axis and the line across it, and comes right with the wings level.",
        GIMBAL_PATENT,
        law="bank",
        change={"geometry": 0.0},
        scene="bank_and_card",
    ),
    Physical(
        "pitch-leaves-card-alone",
        "Only a bank disturbs the card; a steep climb or dive does not.",
        "The gimbals do not know bank from pitch: what counts is the angle between the card's axis and the "
        "vertical, and where the spin axis lies.",
        GIMBAL_PATENT,
        law="pitch",
        change={"geometry_pitch": 0.0},
    ),
    Physical(
        "bank-error-by-quadrant",
        "The card's error in a bank goes by the compass quadrant you are flying in.",
        "It goes by the angle from the nose to the spin axis. Where the knob turns the card alone, that axis "
        "lies under any heading; only where the knob turns gimbal and card together is it a fixed place on "
        "the card.",
        GIMBAL_PATENT,
        law="bank",
        change={"bank_by_quadrant": 1.0},
        scene="bank_and_card",
    ),
    Physical(
        "levelling-does-no-harm",
        "The levelling jets only keep the gyro upright; they can't move the card.",
        "In a long turn the jets level the gyro to the wrong plane, and a little error stays when the "
        "wings are level again; with a slow rotor, a lot.",
        PRACTICE,
        law="turns",
        change={"levelling": 0.0},
        scene="long_turn",
    ),
    Physical(
        "tumbled-card-spins-on",
        "A gyro that has tumbled goes on spinning its card until you set it.",
        "With the rotor at speed the card flips round within seconds and then stays, wrong, on a housing "
        "that levels again over minutes. A card that spins on and on has a run-down rotor.",
        HANDBOOK,
        law="tumbling",
        # A turn in two minutes: plain to see, and slow enough for the steps of the motion.
        change={"tumble_spin_rad_s": math.radians(3.0)},
        scene="tumble_and_recovery",
    ),
    Physical(
        "caged-card-goes-on",
        "Caging only protects the gyro; the card goes on showing the heading.",
        "A caged gyro is held to the case and turns with it: the card shows the same number on every "
        "heading, and must be set anew after uncaging.",
        GYRO_TEXT,
        law="caging",
        change={"caging": 0.0},
    ),
    Physical(
        "finds-north-by-itself",
        "The heading indicator finds north by itself, like a compass.",
        "It has no sense of north at all: it shows what you last set, less its drift.",
        GYRO_TEXT,
        law="north",
        # A time constant of 2 min: clearly seen within a lesson, as the believer expects.
        change={"north_seeking_per_s": 1.0 / 120.0},
        scene="setting_it",
    ),
    Physical(
        "add-east-variation",
        "Variation east is added to the true heading to get magnetic.",
        "East variation is taken from true to get magnetic: magnetic = true - variation, east positive.",
        GYRO_TEXT,
        law="variation",
        change={"variation_sign": -1.0},
    ),
    Physical(
        "compass-points-to-true-north",
        "The compass points to true north, so a heading from the map can be set as it is.",
        "It points along the Earth's field, which lies off true north by the variation of the place.",
        VARIATION_TEXT,
        law="variation",
        change={"variation_sign": 0.0},
    ),
)
