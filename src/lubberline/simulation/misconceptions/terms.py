"""Wrong ideas on terms of the trade: what each means, and which other term it is mistaken for."""

from lubberline.simulation.misconceptions.idea import (
    COMPASS_TEXT,
    DEVIATION_TEXT,
    FIELD_TEXT,
    GIMBAL_PATENT,
    GYRO_TEXT,
    PRACTICE,
    PRECESSION_TEXT,
    TRANSPORT_TEXT,
    VARIATION_TEXT,
    WANDER_TEXT,
    Quantity,
    Verbal,
)

QUANTITIES: dict[str, Quantity] = {
    "variation": Quantity(
        "variation",
        "the angle from true north to magnetic north at a place, east positive",
    ),
    "deviation": Quantity(
        "deviation",
        "the angle from magnetic north to compass north caused by the aircraft's own magnetism, east "
        "positive",
    ),
    "dip": Quantity("dip", "the angle by which the Earth's field points below the horizontal, down positive"),
    "magnetic-heading": Quantity(
        "magnetic heading",
        "the direction of the nose measured from magnetic north",
    ),
    "compass-heading": Quantity("compass heading", "what the compass reads"),
    "turning-error": Quantity(
        "turning error",
        "what the compass reads wrong because its card tilts in a turn",
    ),
    "acceleration-error": Quantity(
        "acceleration error",
        "what the compass reads wrong because its card tilts as the speed changes",
    ),
    "apparent-wander": Quantity(
        "apparent wander",
        "the drift of the card because the Earth rotates under a gyro that keeps its direction in space",
    ),
    "transport-wander": Quantity(
        "transport wander",
        "the drift of the card because flying east or west turns the direction of north under the gyro",
    ),
    "real-wander": Quantity(
        "real wander",
        "the drift of the card because friction and imbalance turn the spin axis itself",
    ),
    "precession": Quantity(
        "precession",
        "the turning of a spinning gyro's axis by a torque, at right angles to the force applied",
    ),
    "gimballing-error": Quantity(
        "gimballing error",
        "what the card reads wrong in a bank or climb because of the geometry of its gimbals",
    ),
    "topple": Quantity("topple", "the tilting of the spin axis away from the horizontal"),
    "tumbling": Quantity(
        "tumbling",
        "the sudden swing of the card when a gimbal meets its stop",
    ),
    "gyro-drift": Quantity(
        "drift of the gyro",
        "how far the card has moved away from the heading since it was set, whatever the cause",
    ),
    "drift-angle": Quantity(
        "drift angle",
        "the angle from the heading to the track caused by the wind, right positive",
    ),
}

IDEAS: tuple[Verbal, ...] = (
    Verbal(
        "deviation-is-variation",
        "Deviation is the angle between true and magnetic north.",
        "That is variation, which belongs to the place. Deviation is caused by the aircraft itself.",
        DEVIATION_TEXT,
        law="term-deviation",
        term="deviation",
        taken_for="variation",
    ),
    Verbal(
        "variation-is-deviation",
        "Variation is the effect of the aircraft's own iron and electric currents on the compass.",
        "That is deviation, which belongs to the aircraft. Variation belongs to the place and is the same "
        "for every aircraft there.",
        VARIATION_TEXT,
        law="term-variation",
        term="variation",
        taken_for="deviation",
    ),
    Verbal(
        "dip-is-variation",
        "Dip is how far the compass points to one side of true north.",
        "That is variation. Dip is how steeply the field points down.",
        FIELD_TEXT,
        law="term-dip",
        term="dip",
        taken_for="variation",
    ),
    Verbal(
        "compass-heading-is-magnetic",
        "What the compass reads is the magnetic heading.",
        "The compass reading is the magnetic heading only after deviation has been applied, and only in "
        "straight, steady flight.",
        DEVIATION_TEXT,
        law="term-compass-heading",
        term="compass-heading",
        taken_for="magnetic-heading",
        scene="setting_it",
    ),
    Verbal(
        "turning-error-is-the-cards",
        "Turning error is the error of the heading indicator in a bank.",
        "That is gimballing error. Turning error belongs to the compass and comes from the dip of the field.",
        COMPASS_TEXT,
        law="term-turning",
        term="turning-error",
        taken_for="gimballing-error",
        scene="compass_turn_north_55n",
    ),
    Verbal(
        "precession-is-the-earth",
        "Precession is the drift caused by the Earth's rotation.",
        "That is apparent wander, which needs no torque. Precession is what a torque does to a gyro.",
        PRECESSION_TEXT,
        law="term-precession",
        term="precession",
        taken_for="apparent-wander",
        scene="precession_by_touch",
    ),
    Verbal(
        "apparent-wander-is-friction",
        "Apparent wander is the drift caused by friction in the bearings.",
        "That is real wander, in which the spin axis itself turns. In apparent wander the axis keeps its "
        "direction in space and the Earth rotates under it.",
        WANDER_TEXT,
        law="term-apparent",
        term="apparent-wander",
        taken_for="real-wander",
        scene="fifteen_minutes_45n",
    ),
    Verbal(
        "real-wander-is-the-journey",
        "Real wander is the drift that comes from really going somewhere.",
        "That is transport wander. In real wander the spin axis itself turns, because of friction and "
        "imbalance.",
        TRANSPORT_TEXT,
        law="term-real",
        term="real-wander",
        taken_for="transport-wander",
        scene="slow_rotor_descent",
    ),
    Verbal(
        "transport-wander-is-the-earth",
        "Transport wander is the drift of a gyro that the Earth carries round.",
        "That is apparent wander. Transport wander comes from the aircraft's own movement over the Earth.",
        TRANSPORT_TEXT,
        law="term-transport",
        term="transport-wander",
        taken_for="apparent-wander",
        scene="flying_east_70n",
    ),
    Verbal(
        "gimballing-error-is-friction",
        "Gimballing error is the drift caused by friction in the gimbals.",
        "That is real wander. Gimballing error comes from geometry and is gone with the wings level.",
        GIMBAL_PATENT,
        law="term-gimballing",
        term="gimballing-error",
        taken_for="real-wander",
        scene="bank_and_card",
    ),
    Verbal(
        "tumbling-is-gimballing",
        "A gyro tumbles in every bank and recovers with the wings level.",
        "An error that comes and goes with a bank is gimballing error. A gyro tumbles only when a gimbal "
        "meets its stop: the card swings round and stays wrong until it is set again.",
        GYRO_TEXT,
        law="tumbling",
        term="tumbling",
        taken_for="gimballing-error",
        scene="tumble_and_recovery",
    ),
    Verbal(
        "topple-is-card-drift",
        "Topple is how far the card drifts because of the Earth's rotation.",
        "That is apparent wander, in azimuth. Topple is the tilting of the spin axis away from the "
        "horizontal.",
        WANDER_TEXT,
        law="term-topple",
        term="topple",
        taken_for="apparent-wander",
    ),
    Verbal(
        "gyro-drift-is-the-winds",
        "The drift of the heading indicator is the drift caused by the wind.",
        "The wind causes the drift angle, from heading to track. The drift of the gyro is how far its card "
        "has moved away from the heading.",
        PRACTICE,
        law="term-drift",
        term="gyro-drift",
        taken_for="drift-angle",
    ),
)
