"""Wrong ideas on the magnetic compass that the heading indicator is set from."""

from lubberline.simulation.misconceptions.idea import COMPASS_TEXT, DEVIATION_TEXT, PRACTICE, Physical

IDEAS: tuple[Physical, ...] = (
    Physical(
        "set-it-in-the-turn",
        "The compass is right in a turn, so the heading indicator may be set then.",
        "In a turn the dip of the field pulls the tilted card round: set the heading indicator only in "
        "straight, unaccelerated flight.",
        COMPASS_TEXT,
        law="compass-turn",
        change={"compass_turning": 0.0},
        scene="setting_in_a_turn",
    ),
    Physical(
        "compass-lag-and-lead-exchanged",
        "In the northern hemisphere the compass leads a turn through north and lags one through south.",
        "There it lags through north and leads through south: roll out early for north, late for south.",
        COMPASS_TEXT,
        law="compass-turn",
        change={"compass_turning": -1.0},
        scene="compass_turn_north_55n",
    ),
    Physical(
        "compass-northern-everywhere",
        "The compass lags through north in the southern hemisphere too.",
        "South of the magnetic equator the field points up, and every error of turn and acceleration "
        "changes its sense.",
        COMPASS_TEXT,
        law="compass-turn",
        change={"compass_northern_everywhere": 1.0},
        scene="compass_turn_38s",
    ),
    Physical(
        "compass-leads-by-the-latitude",
        "The compass leads or lags through north and south by the latitude, whatever the bank.",
        "The lead is atan(tan dip x sin bank). In the field of a plain dipole that is the latitude at about "
        "30 degrees of bank, and only about half of it in a rate one turn at 100 knots.",
        COMPASS_TEXT,
        law="compass-turn",
        change={"compass_by_latitude": 1.0},
        scene="compass_turn_south_55n",
    ),
    Physical(
        "compass-errors-exchanged",
        "Turning error shows on east and west, acceleration error on north and south.",
        "A turn tilts the card sideways, and that pulls it round on north and south; speeding up tilts it "
        "lengthwise, and that pulls it round on east and west.",
        COMPASS_TEXT,
        law="compass-turn",
        change={"compass_swapped": 1.0},
        scene="compass_acceleration",
    ),
    Physical(
        "no-acceleration-error",
        "As long as the wings are level the compass can be trusted.",
        "Speeding up or slowing down on an easterly or westerly heading swings it as well.",
        COMPASS_TEXT,
        law="compass-speed",
        change={"compass_acceleration": 0.0},
        scene="compass_acceleration",
    ),
    Physical(
        "accelerating-shows-south",
        "In the northern hemisphere speeding up shows a turn to the south.",
        "There speeding up swings the card towards north, slowing down towards south.",
        COMPASS_TEXT,
        law="compass-speed",
        change={"compass_acceleration": -1.0},
        scene="compass_acceleration",
    ),
    Physical(
        "liquid-only-damps",
        "The liquid in the compass only calms the card; it has no error of its own.",
        "In a long turn the bowl drags the liquid round, and the liquid drags the card.",
        PRACTICE,
        law="compass-settling",
        change={"compass_liquid": 0.0},
    ),
    Physical(
        "compass-needs-no-time",
        "The moment the wings are level the compass can be read.",
        "The card swings and the liquid still turns: give it some 20 seconds of straight, steady flight.",
        PRACTICE,
        law="compass-settling",
        change={"compass_swings": 0.0},
    ),
    Physical(
        "deviation-the-wrong-way",
        "Deviation east is added to the magnetic heading to get the compass heading.",
        "East deviation is taken from magnetic to get compass: compass = magnetic - deviation, east "
        "positive.",
        DEVIATION_TEXT,
        law="deviation",
        change={"compass_deviation": -1.0},
    ),
    Physical(
        "swung-compass-has-no-deviation",
        "Once a compass has been swung it has no deviation left.",
        "The adjuster makes it small and writes what is left on the card; it differs with the heading.",
        DEVIATION_TEXT,
        law="deviation",
        change={"compass_deviation": 0.0},
    ),
)
