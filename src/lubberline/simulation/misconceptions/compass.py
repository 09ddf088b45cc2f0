"""Wrong ideas on the magnetic compass that the heading indicator is set from."""

from lubberline.simulation.misconceptions.idea import COMPASS_TEXT, DEVIATION_TEXT, PRACTICE, Physical

IDEAS: tuple[Physical, ...] = (
    Physical(
        "set-it-in-the-turn",
        "The compass is right in a turn, so the heading indicator can be set then.",
        "In a turn the card tilts, and the dip of the field swings it round. Set the heading indicator only"
        " in straight, unaccelerated flight.",
        COMPASS_TEXT,
        name="right in turns",
        law="compass-turn",
        change={"compass_turning": 0.0},
        scene="setting_in_a_turn",
    ),
    Physical(
        "compass-lag-and-lead-exchanged",
        "In the northern hemisphere the compass leads a turn through north and lags one through south.",
        "In the northern hemisphere the compass lags in a turn through north and leads in a turn through "
        "south: roll out early for north, late for south. In the southern hemisphere it is the reverse.",
        COMPASS_TEXT,
        mend_south="In the southern hemisphere the compass leads in a turn through north and lags in a turn "
        "through south: roll out late for north, early for south. In the northern hemisphere it is the "
        "reverse.",
        name="lead and lag",
        law="compass-turn",
        change={"compass_turning": -1.0},
        scene="compass_turn_north_55n",
    ),
    Physical(
        "compass-northern-everywhere",
        "The compass lags through north in the southern hemisphere too.",
        "North of the magnetic equator the field points down. South of it the field points up, and every "
        "turning and acceleration error is reversed.",
        COMPASS_TEXT,
        name="lags everywhere",
        law="compass-turn",
        change={"compass_northern_everywhere": 1.0},
        scene="compass_turn_38s",
    ),
    Physical(
        "compass-leads-by-the-latitude",
        "Through north and south the compass leads or lags by as many degrees as the latitude, whatever the"
        " bank.",
        "The lead or lag is atan(tan dip × sin bank). In the field of a dipole that equals the latitude at "
        "about 30 degrees of bank, but only about half the latitude in a rate one turn at 100 knots.",
        COMPASS_TEXT,
        name="as the latitude",
        law="compass-turn",
        change={"compass_by_latitude": 1.0},
        scene="compass_turn_south_55n",
    ),
    Physical(
        "compass-errors-exchanged",
        "Turning error is greatest on east and west, acceleration error on north and south.",
        "A turn tilts the card sideways, which swings it on north and south. A change of speed tilts the "
        "card fore and aft, which swings it on east and west.",
        COMPASS_TEXT,
        name="east and west",
        law="compass-turn",
        change={"compass_swapped": 1.0},
        scene="compass_acceleration",
    ),
    Physical(
        "no-acceleration-error",
        "As long as the wings are level, the compass can be trusted.",
        "Speeding up or slowing down on an easterly or westerly heading swings the compass too, even with "
        "the wings level.",
        COMPASS_TEXT,
        name="right when level",
        law="compass-speed",
        change={"compass_acceleration": 0.0},
        scene="compass_acceleration",
    ),
    Physical(
        "accelerating-shows-south",
        "In the northern hemisphere speeding up shows a turn to the south.",
        "In the northern hemisphere speeding up swings the compass towards north, and slowing down swings "
        "it towards south. In the southern hemisphere it is the reverse.",
        COMPASS_TEXT,
        mend_south="In the southern hemisphere speeding up swings the compass towards south, and slowing "
        "down swings it towards north. In the northern hemisphere it is the reverse.",
        name="shows south",
        law="compass-speed",
        change={"compass_acceleration": -1.0},
        scene="compass_acceleration",
    ),
    Physical(
        "liquid-only-damps",
        "The liquid in the compass only damps the card; it causes no error of its own.",
        "In a long turn the bowl drags the liquid round, and the liquid drags the card.",
        PRACTICE,
        name="liquid is harmless",
        law="compass-settling",
        change={"compass_liquid": 0.0},
    ),
    Physical(
        "compass-needs-no-time",
        "The compass can be read the moment the wings are level.",
        "The card is still swinging and the liquid still turning: allow about 20 seconds of straight, "
        "steady flight.",
        PRACTICE,
        name="right at once",
        law="compass-settling",
        change={"compass_swings": 0.0},
    ),
    Physical(
        "deviation-the-wrong-way",
        "East deviation is added to the magnetic heading to get the compass heading.",
        "East deviation is subtracted from magnetic to get compass: compass = magnetic − deviation, east "
        "positive.",
        DEVIATION_TEXT,
        name="deviation added",
        law="deviation",
        change={"compass_deviation": -1.0},
    ),
    Physical(
        "swung-compass-has-no-deviation",
        "Once a compass has been swung it has no deviation left.",
        "The swing makes the deviation small but does not remove it. The rest is written on the correction "
        "card and differs from heading to heading.",
        DEVIATION_TEXT,
        name="swung, so right",
        law="deviation",
        change={"compass_deviation": 0.0},
    ),
)
