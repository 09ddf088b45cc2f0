"""Wrong ideas on what makes the card drift: Earth rate, transport wander, friction, latitude nut, rotor."""

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
        "Apparent wander is 15 degrees an hour times the sine of the latitude: zero at the equator, and the"
        " full 15 degrees an hour at the poles.",
        WANDER_TEXT,
        name="same everywhere",
        law="earth",
        change={"earth_sine": 0.0, "earth_constant": 1.0},
        scene="fifteen_minutes_equator",
    ),
    Physical(
        "no-wander-at-poles",
        "The drift is greatest at the equator and zero at the poles.",
        "Only the part of the Earth's rotation that is about the vertical moves the card, and that is "
        "greatest at the poles and zero at the equator.",
        WANDER_TEXT,
        name="none at the poles",
        law="earth",
        change={"earth_sine": 0.0, "earth_cosine": 1.0},
        scene="fifteen_minutes_70n",
    ),
    Physical(
        "wander-straight-with-latitude",
        "At latitude 45 degrees the drift is half what it is at the pole.",
        "Apparent wander varies with the sine of the latitude, not with the latitude itself: at 45 degrees "
        "it is 0.71 of its value at the pole, and it is half of that value at 30 degrees.",
        WANDER_TEXT,
        name="by the latitude",
        law="earth",
        change={"earth_sine": 0.0, "earth_linear": 1.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "falls-in-both-hemispheres",
        "Apparent wander makes the card read low in the southern hemisphere too.",
        "North of the equator the card drifts low. South of it the Earth rotates the other way about the "
        "vertical, so the card drifts high.",
        WANDER_TEXT,
        name="low in the south",
        law="earth",
        change={"earth_both_hemispheres": 1.0},
        scene="fifteen_minutes_45s",
    ),
    Physical(
        "rises-in-the-north",
        "In the northern hemisphere apparent wander makes the card read higher and higher.",
        "North of the equator, seen from above, the ground turns to the left under the gyro, and the card "
        "reads lower and lower. South of it the ground turns to the right, and the card reads higher and "
        "higher.",
        WANDER_TEXT,
        mend_south="In the southern hemisphere, seen from above, the ground turns to the right under the "
        "gyro. The spin axis seems to turn to the left, so the card reads higher and higher; in the northern "
        "hemisphere it reads lower and lower.",
        name="high in the north",
        law="earth",
        change={"earth_sine": -1.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "no-earth-wander",
        "A good heading indicator doesn't drift; drift means friction.",
        "Even a perfect gyro keeps its direction in space, not over the ground, so its card drifts as the "
        "Earth rotates: by more than three degrees in a quarter of an hour at latitude 60 degrees.",
        WANDER_TEXT,
        name="no drift",
        law="earth",
        change={"earth_sine": 0.0},
        scene="fifteen_minutes_45n",
    ),
    Physical(
        "no-drift-when-parked",
        "It does not drift when the aircraft is parked; it drifts only in flight.",
        "The Earth rotates under a parked aircraft just as it does under a flying one.",
        WANDER_TEXT,
        name="none when parked",
        law="earth",
        change={"earth_when_parked": 0.0},
        scene="near_the_pole",
    ),
)

JOURNEY = (
    Physical(
        "journey-adds-nothing",
        "The direction you fly in makes no difference to the drift.",
        "Flying east or west turns the direction of north under the gyro, at a rate of the ground speed "
        "east or west times the tangent of the latitude, divided by the Earth's radius.",
        TRANSPORT_TEXT,
        name="same on any track",
        law="journey",
        change={"travel": 0.0},
        scene="flying_east_70n",
    ),
    Physical(
        "journey-the-other-way",
        "Flying east reduces the drift that the Earth's rotation causes.",
        "In both hemispheres flying east adds to the drift that the Earth's rotation causes; flying west "
        "reduces it.",
        TRANSPORT_TEXT,
        name="east reduces it",
        law="journey",
        change={"travel": -1.0},
        scene="flying_west_70n",
    ),
    Physical(
        "journey-same-at-every-latitude",
        "The same ground speed east gives the same drift at the equator as near the pole.",
        "Meridians are parallel at the equator and converge towards the poles, so transport wander varies "
        "with the tangent of the latitude.",
        TRANSPORT_TEXT,
        name="same at equator",
        law="journey",
        change={"travel": 0.0, "travel_flat": 1.0},
        scene="flying_east_70n",
    ),
    Physical(
        "journey-north-counts",
        "Flying north causes as much drift as flying east.",
        "Flying along a meridian does not turn the direction of north. Only the part of the ground speed to"
        " the east or west causes transport wander.",
        TRANSPORT_TEXT,
        name="north counts",
        law="journey",
        change={"travel_northing": 1.0},
    ),
)

FRICTION = (
    Physical(
        "only-the-earth",
        "The rotor runs free in its gimbals, so only apparent and transport wander move the card.",
        "Bearings have friction and no rotor is perfectly balanced, so real wander, of either sign, is "
        "added.",
        DRIFT_LIMIT_TEXT,
        name="only the Earth",
        law="friction",
        change={"real_wander": 0.0},
    ),
    Physical(
        "friction-always-reads-low",
        "Friction always makes the card read low.",
        "Real wander can have either sign, depending on how this instrument is out of balance. It can hide "
        "apparent wander as well as add to it.",
        GYRO_TEXT,
        name="always low",
        law="friction",
        change={"real_wander_falls": 1.0},
    ),
    Physical(
        "friction-drags-the-card-round",
        "In a turn the friction of the gimbal drags the card along, so every turn leaves an error behind.",
        "A torque about the card's axis does not turn a spinning gyro about that axis: it tilts the inner "
        "gimbal (housing), and the card does not move.",
        PRECESSION_TEXT,
        name="card dragged",
        law="turns",
        change={"turn_drag": 0.02},
        scene="precession_by_touch",
    ),
    Physical(
        "more-suction-more-drift",
        "The faster the rotor spins, the more the card drifts.",
        "The faster the rotor, the more rigid the gyro, and the less friction moves the card. A slow rotor "
        "drifts more.",
        HANDBOOK,
        name="faster drifts more",
        law="rotor",
        change={"slow_rotor_power": -1.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "rotor-speed-does-not-matter",
        "As long as the rotor turns at all, its speed does not matter.",
        "The drift from friction grows as the rotor slows: at half speed it is twice as fast.",
        HANDBOOK,
        name="any rotor speed",
        law="rotor",
        change={"slow_rotor_power": 0.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "drift-by-the-square",
        "At half the rotor speed the card drifts four times as fast.",
        "Drift is torque divided by angular momentum, and angular momentum is proportional to rotor speed, "
        "not to its square: half the speed gives twice the drift.",
        PRECESSION_TEXT,
        name="four times",
        law="rotor",
        change={"slow_rotor_power": 2.0},
        scene="slow_rotor_descent",
    ),
    Physical(
        "still-bench-proves-it",
        "A gyro that holds still at full speed on the bench will not drift in the aircraft either.",
        "On a quiet bench the friction of its bearings nearly holds the card against the Earth's rotation; "
        "vibration in the aircraft frees it.",
        PRACTICE,
        name="still on the bench",
        law="bench",
        # The believer expects of the bench what the aircraft does, and so takes its rest for perfection.
        change={"bench_shakes": 1.0},
        scene="still_bench_flatters",
    ),
)

BALANCE = (
    Physical(
        "balance-works-everywhere",
        "Once the latitude nut is set, it is right at every latitude.",
        "The latitude nut is a fixed weight and right at one latitude only. In the other hemisphere it adds"
        " to the drift instead of cancelling it.",
        WANDER_TEXT,
        name="nut everywhere",
        law="balance",
        change={"balance_everywhere": 1.0},
        scene="balance_after_a_ferry",
    ),
    Physical(
        "balance-cancels-journey",
        "The latitude nut cancels transport wander as well.",
        "The latitude nut is a fixed weight and does not respond to the speed of the aircraft, so transport"
        " wander remains.",
        TRANSPORT_TEXT,
        name="nut does it all",
        law="balance",
        change={"balance_cancels_travel": 1.0},
    ),
    Physical(
        "balance-right-at-any-rotor-speed",
        "The latitude nut is right however fast the rotor turns.",
        "The torque of the latitude nut is fixed, and the same torque moves the card faster as the rotor "
        "slows: at half speed the nut corrects twice as much as it should.",
        PRECESSION_TEXT,
        name="nut at any speed",
        law="balance",
        change={"balance_at_any_speed": 1.0},
    ),
)

IDEAS: tuple[Physical, ...] = (*EARTH, *JOURNEY, *FRICTION, *BALANCE)
