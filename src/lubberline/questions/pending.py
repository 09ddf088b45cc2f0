"""Misconceptions that the table does not hold yet: the sentence that mends each, and the laws it changes."""

from __future__ import annotations

PENDING: dict[str, tuple[str, dict[str, float]]] = {
    "accelerating-shows-south": (
        "There speeding up swings the card towards north, slowing down towards south.",
        {"compass_acceleration": -1.0},
    ),
    "apparent-wander-is-friction": (
        "That is real wander: the axis itself turns. In apparent wander it keeps still, and the Earth turns.",
        {},
    ),
    "balance-right-at-any-rotor-speed": (
        "Its torque is fixed, and what a torque does grows as the "
        "rotor slows: at half speed the balance does twice as much as it should.",
        {"balance_at_any_speed": 1.0},
    ),
    "bank-error-by-quadrant": (
        "It goes by the angle from the nose to the spin axis. Where the knob "
        "turns the card alone, that axis lies under any heading; only where the knob turns gimbal and card "
        "together is it a fixed place on the card.",
        {"bank_by_quadrant": 1.0},
    ),
    "clogged-filter-reads-low": (
        "Only at a gauge across the instruments. Tapped between manifold and "
        "cabin it reads normal, at idle even high, while the rotor starves.",
        {},
    ),
    "compass-errors-exchanged": (
        "A turn tilts the card sideways, and that pulls it round on north and "
        "south; speeding up tilts it lengthwise, and that pulls it round on east and west.",
        {"compass_swapped": 1.0},
    ),
    "compass-heading-is-magnetic": ("Only after deviation is applied, and in straight, steady flight.", {}),
    "compass-lag-and-lead-exchanged": (
        "There it lags through north and leads through south: roll out early for north, late for south.",
        {"compass_turning": -1.0},
    ),
    "compass-leads-by-the-latitude": (
        "The lead is atan(tan dip x sin bank). In the field of a plain "
        "dipole that is the latitude at about 30 degrees of bank, and only about half of it in a rate one "
        "turn at 100 knots.",
        {"compass_by_latitude": 1.0},
    ),
    "compass-northern-everywhere": (
        "South of the magnetic equator the field points up, and every error "
        "of turn and acceleration changes its sense.",
        {"compass_northern_everywhere": 1.0},
    ),
    "deviation-is-variation": ("That is variation, of the place; deviation is the aircraft's own.", {}),
    "deviation-the-wrong-way": (
        "East deviation is taken from magnetic to get compass: compass = "
        "magnetic - deviation, east positive.",
        {"compass_deviation": -1.0},
    ),
    "drift-by-the-square": (
        "Drift is torque over momentum, and momentum goes by the speed, not its "
        "square: half the speed, twice the drift.",
        {"slow_rotor_power": 2.0},
    ),
    "drift-means-suction": (
        "Drift alone separates nothing: worn bearings and bad balance give it with the best suction.",
        {},
    ),
    "gimballing-error-is-friction": (
        "That is real wander; gimballing error is geometry, and gone with the wings level.",
        {},
    ),
    "green-gauge-good-instrument": (
        "The gauge says nothing of the bearings, and, tapped between "
        "manifold and cabin, nothing of the filter.",
        {},
    ),
    "gyro-stops-with-the-pump": (
        "The rotor runs down for some ten minutes, drifting more and more: the failure comes slowly.",
        {},
    ),
    "journey-same-at-every-latitude": (
        "Meridians are parallel at the equator and crowd together "
        "towards the pole: the journey's drift goes by the tangent of the latitude.",
        {"travel": 0.0, "travel_flat": 1.0},
    ),
    "no-acceleration-error": (
        "Speeding up or slowing down on an easterly or westerly heading swings it as well.",
        {"compass_acceleration": 0.0},
    ),
    "only-the-earth": (
        "Bearings rub and no rotor is in perfect balance: real wander of either sign comes on top.",
        {"real_wander": 0.0},
    ),
    "ready-with-the-gauge": (
        "The air is there in a second, but the rotor needs about five minutes to come to speed.",
        {},
    ),
    "real-wander-is-the-journey": (
        "That is transport wander; real wander is the turning of the axis itself, by friction and unbalance.",
        {},
    ),
    "regulator-governs-the-rotor": (
        "It is a valve that lets cabin air in above its setting: it caps "
        "the suction, and the gauge shows the cap at every power.",
        {},
    ),
    "rises-in-the-north": (
        "There the ground turns to the left under the gyro, seen from above; the "
        "axis seems to go right, and the card reads lower and lower.",
        {"earth_sine": -1.0},
    ),
    "short-run-down-means-suction": (
        "From a known speed, the time to run down measures the bearings; the suction has no part in it.",
        {},
    ),
    "suction-same-at-idle": (
        "A regulator can only let suction go, not make it: at idle the pump moves "
        "too little, and the suction falls.",
        {},
    ),
    "swung-compass-has-no-deviation": (
        "The adjuster makes it small and writes what is left on the card; it differs with the heading.",
        {"compass_deviation": 0.0},
    ),
    "three-degrees-means-worn": (
        "Take the Earth's turning and the journey out first: at 60 north a "
        "perfect instrument moves by more than three degrees in that time.",
        {},
    ),
    "transport-wander-is-the-earth": (
        "That is apparent wander; transport wander comes from the aircraft's own journey over the Earth.",
        {},
    ),
    "tumbled-card-spins-on": (
        "With the rotor at speed the card flips round within seconds and then "
        "stays, wrong, on a housing that levels again over minutes. A card that spins on and on has a "
        "run-down rotor.",
        {"tumble_spin_rad_s": 0.05235987755982989},
    ),
    "tumbling-is-gimballing": (
        "That is gimballing error; tumbling is the throw of the card when a "
        "gimbal meets its stop, and does not come right by itself.",
        {},
    ),
    "turning-error-is-the-cards": (
        "That is gimballing error; turning error is the compass's, from the dip of the field.",
        {},
    ),
    "variation-is-deviation": (
        "That is deviation, of the aircraft; variation is that of the place, for everybody there.",
        {},
    ),
    "wander-straight-with-latitude": (
        "It goes by the sine of the latitude, not by the latitude: at 45 "
        "degrees it is 0.71 of what it is at the pole, and half of it comes at 30 degrees.",
        {"earth_sine": 0.0, "earth_linear": 1.0},
    ),
    "weak-pump-shows-at-cruise": (
        "At full power a pump has plenty to spare, and the regulator hides "
        "the loss; it shows first at low engine speed.",
        {},
    ),
    "worn-bearings-lower-the-suction": (
        "The gauge measures air, and the same air goes through. Worn "
        "bearings show in a short run-down and in drift, with the gauge normal.",
        {},
    ),
}
