"""Wrong ideas on what makes the card drift: the Earth, the journey, friction, the balance, the rotor."""

from lubberline.simulation.misconceptions.idea import (
    DRIFT_LIMIT_TEXT,
    GYRO_TEXT,
    HANDBOOK,
    PRACTICE,
    PRECESSION_TEXT,
    TRANSPORT_TEXT,
    WANDER_TEXT,
    Physical,
)

EARTH = (
    Physical(
        "same-wander-everywhere",
        "The heading indicator drifts 15 degrees an hour wherever you are.",
        "The Earth turns under the gyro by 15 degrees an hour times the sine of the latitude: nothing at "
        "the equator, all of it at the poles.",
        WANDER_TEXT,
        law="earth",
        change={"earth_sine": 0.0, "earth_constant": 1.0},
        scene="fifteen_minutes_equator",
    ),
    Physical(
        "no-wander-at-poles",
        "The drift is greatest at the equator and zero at the poles.",
        "It is the other way about: only the Earth's turning about the vertical moves the card, and that "
        "is all of it at the poles and none at the equator.",
        WANDER_TEXT,
        law="earth",
        change={"earth_sine": 0.0, "earth_cosine": 1.0},
        scene="fifteen_minutes_70n",
    ),
    Physical(
        "wander-straight-with-latitude",
        "At 45 degrees of latitude the drift is half of what it is at the pole.",
        "It goes by the sine of the latitude, not by the latitude: at 45 degrees it is 0.71 of what it is at "
        "the pole, and half of it comes at 30 degrees.",
        WANDER_TEXT,
        law="earth",
        change={"earth_sine": 0.0, "earth_linear": 1.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "falls-in-both-hemispheres",
        "The Earth's turning makes the card read low in the southern hemisphere too.",
        "South of the equator the Earth turns the other way about the vertical, so there the card rises.",
        WANDER_TEXT,
        law="earth",
        change={"earth_both_hemispheres": 1.0},
        scene="fifteen_minutes_45s",
    ),
    Physical(
        "rises-in-the-north",
        "In the northern hemisphere the Earth's turning makes the card read higher and higher.",
        "There the ground turns to the left under the gyro, seen from above; the axis seems to go right, and "
        "the card reads lower and lower.",
        WANDER_TEXT,
        law="earth",
        change={"earth_sine": -1.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "no-earth-wander",
        "A good heading indicator doesn't drift; drift means friction.",
        "Even a perfect gyro keeps its direction in space, not over the ground, so its card drifts with "
        "the Earth's turning: by more than three degrees in a quarter of an hour at 60 north.",
        WANDER_TEXT,
        law="earth",
        change={"earth_sine": 0.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "no-drift-when-parked",
        "On the ground, standing still, it doesn't drift; only flying makes it.",
        "The Earth turns under a parked aircraft just as under a flying one.",
        WANDER_TEXT,
        law="earth",
        change={"earth_when_parked": 0.0},
        scene="near_the_pole",
    ),
)

JOURNEY = (
    Physical(
        "journey-adds-nothing",
        "Where you fly to makes no difference to the drift.",
        "Flying east or west turns your north under the gyro: by ground speed east times the tangent of "
        "the latitude over the Earth's radius.",
        TRANSPORT_TEXT,
        law="journey",
        change={"travel": 0.0},
        scene="flying_east_70n",
    ),
    Physical(
        "journey-the-other-way",
        "Flying east takes the Earth's drift away.",
        "Flying east adds to the Earth's own turning, flying west takes from it.",
        TRANSPORT_TEXT,
        law="journey",
        change={"travel": -1.0},
        scene="flying_west_70n",
    ),
    Physical(
        "journey-same-at-every-latitude",
        "So many knots east give so much drift, at the equator as near the pole.",
        "Meridians are parallel at the equator and crowd together towards the pole: the journey's drift goes "
        "by the tangent of the latitude.",
        TRANSPORT_TEXT,
        law="journey",
        change={"travel": 0.0, "travel_flat": 1.0},
        scene="flying_east_70n",
    ),
    Physical(
        "journey-north-counts",
        "Flying north makes it drift as much as flying east.",
        "Along a meridian north stays ahead or behind: only the part of the ground speed to the east or west "
        "counts.",
        TRANSPORT_TEXT,
        law="journey",
        change={"travel_northing": 1.0},
    ),
)

FRICTION = (
    Physical(
        "only-the-earth",
        "The rotor runs free in its gimbals, so nothing but the Earth and the journey moves the card.",
        "Bearings rub and no rotor is in perfect balance: real wander of either sign comes on top.",
        DRIFT_LIMIT_TEXT,
        law="friction",
        change={"real_wander": 0.0},
    ),
    Physical(
        "friction-always-reads-low",
        "Friction always makes the card read low.",
        "Real wander has either sign, by how this instrument is out of balance; it can hide the Earth's part "
        "as well as add to it.",
        GYRO_TEXT,
        law="friction",
        change={"real_wander_falls": 1.0},
    ),
    Physical(
        "friction-drags-the-card-round",
        "In a turn the friction of the gimbal drags the card along, so every turn leaves it behind a little.",
        "A torque about the card's axis does not turn a spinning gyro about that axis: it tilts the housing, "
        "and the card stays.",
        PRECESSION_TEXT,
        law="turns",
        change={"turn_drag": 0.02},
        scene="precession_by_touch",
    ),
    Physical(
        "more-suction-more-drift",
        "The faster the rotor spins, the more it drifts.",
        "The faster the rotor, the stiffer the gyro: friction moves the card less. A slow rotor drifts more.",
        HANDBOOK,
        law="rotor",
        change={"slow_rotor_power": -1.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "rotor-speed-does-not-matter",
        "As long as the rotor turns at all, its speed doesn't matter.",
        "Friction's drift grows as the rotor slows: at half speed it is twice as much.",
        HANDBOOK,
        law="rotor",
        change={"slow_rotor_power": 0.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "drift-by-the-square",
        "At half the rotor speed it drifts four times as much.",
        "Drift is torque over momentum, and momentum goes by the speed, not its square: half the speed, "
        "twice the drift.",
        PRECESSION_TEXT,
        law="rotor",
        change={"slow_rotor_power": 2.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "still-bench-proves-it",
        "A gyro that holds still at full speed on the bench will not drift in the aircraft either.",
        "On a quiet bench the friction of its bearings nearly holds the card against the Earth's turning; "
        "the shaking of an aircraft breaks it loose.",
        PRACTICE,
        law="bench",
        # The believer expects of the bench what the aircraft does, and so takes its rest for perfection.
        change={"bench_shakes": 1.0},
        scene="still_bench_flatters",
    ),
)

BALANCE = (
    Physical(
        "balance-works-everywhere",
        "Once it is balanced for the Earth's turning, that is right at every latitude.",
        "The balance is a fixed weight, right at one latitude only; in the other hemisphere it doubles "
        "the drift instead of cancelling it.",
        WANDER_TEXT,
        law="balance",
        change={"balance_everywhere": 1.0},
        scene="balance_after_a_ferry",
    ),
    Physical(
        "balance-cancels-journey",
        "The latitude balance cancels the journey's drift as well.",
        "A fixed weight knows nothing of your speed: transport wander stays.",
        TRANSPORT_TEXT,
        law="balance",
        change={"balance_cancels_travel": 1.0},
    ),
    Physical(
        "balance-right-at-any-rotor-speed",
        "The latitude balance is right however fast the rotor turns.",
        "Its torque is fixed, and what a torque does grows as the rotor slows: at half speed the balance "
        "does twice as much as it should.",
        PRECESSION_TEXT,
        law="balance",
        change={"balance_at_any_speed": 1.0},
    ),
)

IDEAS: tuple[Physical, ...] = (*EARTH, *JOURNEY, *FRICTION, *BALANCE)
