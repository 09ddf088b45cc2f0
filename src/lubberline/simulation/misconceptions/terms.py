"""Wrong ideas on words: terms of the trade, what each stands for, and whose place it is given."""

from __future__ import annotations

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
        "the angle from magnetic north to compass north that the aircraft's magnetism makes, east positive",
    ),
    "dip": Quantity("dip", "the angle by which the Earth's field points below the horizontal, down positive"),
    "magnetic-heading": Quantity(
        "magnetic heading",
        "the direction of the nose from magnetic north",
    ),
    "compass-heading": Quantity("compass heading", "what the compass reads"),
    "turning-error": Quantity(
        "turning error",
        "what the compass reads wrong because a turn tilts its card",
    ),
    "acceleration-error": Quantity(
        "acceleration error",
        "what the compass reads wrong because speeding up or slowing down tilts its card",
    ),
    "apparent-wander": Quantity(
        "apparent wander",
        "the drift of the card because the Earth turns under a gyro that keeps its direction",
    ),
    "transport-wander": Quantity(
        "transport wander",
        "the drift of the card because the aircraft's journey turns its north under the gyro",
    ),
    "real-wander": Quantity(
        "real wander",
        "the drift of the card because friction and unbalance turn the axis itself",
    ),
    "precession": Quantity(
        "precession",
        "the turning of a spinning gyro's axis by a torque, at right angles to the push",
    ),
    "gimballing-error": Quantity(
        "gimballing error",
        "what the card reads wrong in a bank or climb by the geometry of its gimbals",
    ),
    "topple": Quantity("topple", "the tilting of the spin axis out of the level"),
    "tumbling": Quantity(
        "tumbling",
        "the throw of the card when a gimbal comes against its stop",
    ),
    "gyro-drift": Quantity(
        "drift of the gyro",
        "how far the card has departed from the heading since it was set, all causes together",
    ),
    "drift-angle": Quantity(
        "drift angle",
        "the angle from the heading to the track that the wind makes, right positive",
    ),
}

IDEAS: tuple[Verbal, ...] = (
    Verbal(
        "deviation-is-variation",
        "Deviation is the angle between true and magnetic north.",
        "That is variation, of the place; deviation is the aircraft's own.",
        DEVIATION_TEXT,
        term="deviation",
        taken_for="variation",
    ),
    Verbal(
        "variation-is-deviation",
        "Variation is what the iron and the currents of the aircraft do to the compass.",
        "That is deviation, of the aircraft; variation is that of the place, for everybody there.",
        VARIATION_TEXT,
        term="variation",
        taken_for="deviation",
    ),
    Verbal(
        "dip-is-variation",
        "Dip is how far the compass points to one side of true north.",
        "That is variation; dip is how steeply the field points down.",
        FIELD_TEXT,
        term="dip",
        taken_for="variation",
    ),
    Verbal(
        "compass-heading-is-magnetic",
        "What the compass reads is the magnetic heading.",
        "Only after deviation is applied, and in straight, steady flight.",
        DEVIATION_TEXT,
        term="compass-heading",
        taken_for="magnetic-heading",
        scene="setting_it",
    ),
    Verbal(
        "turning-error-is-the-cards",
        "Turning error is what the heading indicator shows wrong in a bank.",
        "That is gimballing error; turning error is the compass's, from the dip of the field.",
        COMPASS_TEXT,
        term="turning-error",
        taken_for="gimballing-error",
        scene="compass_turn_north_55n",
    ),
    Verbal(
        "precession-is-the-earth",
        "Precession is the drift by the Earth's turning.",
        "That is apparent wander, and no torque is in it; precession is what a torque does to a gyro.",
        PRECESSION_TEXT,
        term="precession",
        taken_for="apparent-wander",
        scene="precession_by_touch",
    ),
    Verbal(
        "apparent-wander-is-friction",
        "Apparent wander is the drift by friction in the bearings.",
        "That is real wander: the axis itself turns. In apparent wander it keeps still, and the Earth turns.",
        WANDER_TEXT,
        term="apparent-wander",
        taken_for="real-wander",
        scene="fifteen_minutes_45n",
    ),
    Verbal(
        "real-wander-is-the-journey",
        "Real wander is the part that comes from really going somewhere.",
        "That is transport wander; real wander is the turning of the axis itself, by friction and unbalance.",
        TRANSPORT_TEXT,
        term="real-wander",
        taken_for="transport-wander",
        scene="slow_rotor_descent",
    ),
    Verbal(
        "transport-wander-is-the-earth",
        "Transport wander is the drift of a gyro that the Earth carries round.",
        "That is apparent wander; transport wander comes from the aircraft's own journey over the Earth.",
        TRANSPORT_TEXT,
        term="transport-wander",
        taken_for="apparent-wander",
        scene="flying_east_70n",
    ),
    Verbal(
        "gimballing-error-is-friction",
        "Gimballing error is the drift by friction in the gimbals.",
        "That is real wander; gimballing error is geometry, and gone with the wings level.",
        GIMBAL_PATENT,
        term="gimballing-error",
        taken_for="real-wander",
        scene="bank_and_card",
    ),
    Verbal(
        "tumbling-is-gimballing",
        "A gyro tumbles in every bank and comes right with the wings level.",
        "That is gimballing error; tumbling is the throw of the card when a gimbal meets its stop, and does "
        "not come right by itself.",
        GYRO_TEXT,
        term="tumbling",
        taken_for="gimballing-error",
        scene="tumble_and_recovery",
    ),
    Verbal(
        "topple-is-card-drift",
        "Topple is how far the card drifts by the Earth's turning.",
        "That is apparent wander, in azimuth; topple is the tilting of the axis out of the level.",
        WANDER_TEXT,
        term="topple",
        taken_for="apparent-wander",
    ),
    Verbal(
        "gyro-drift-is-the-winds",
        "The drift of the heading indicator is the drift that the wind gives.",
        "The wind's is the drift angle, from heading to track; the gyro's is its card's departure from "
        "the heading.",
        PRACTICE,
        term="gyro-drift",
        taken_for="drift-angle",
    ),
)
