"""Wrong ideas on faults of the air drive: which one shows where."""

from lubberline.simulation.misconceptions.idea import (
    DRIFT_LIMIT_TEXT,
    HANDBOOK,
    HEALTHY,
    PRACTICE,
    Causal,
    Rule,
)

GAUGES = ("gauge_idle_inhg", "gauge_cruise_inhg")
ROTORS = ("rotor_idle_rpm", "rotor_cruise_rpm")
DRIFTS = ("drift_idle_deg_15min", "drift_cruise_deg_15min", "seen_drift_deg_15min")
BEHIND_THE_GAUGE = (*ROTORS, "spin_up_min", "run_down_min", *DRIFTS)


def _shows_at_cruise(fault: str) -> tuple[Rule, ...]:
    """A fault that does to cruise what it really does to idle, and nothing to idle."""
    pairs = (GAUGES, ROTORS, DRIFTS[:2])
    worse = tuple(Rule((cruise,), (fault,), as_field=idle) for idle, cruise in pairs)
    return (*worse, Rule(tuple(idle for idle, _ in pairs), (fault,), as_fault=HEALTHY))


IDEAS: tuple[Causal, ...] = (
    Causal(
        "clogged-filter-reads-low",
        "A clogged filter always shows as low suction at the gauge.",
        "Only at a gauge across the instruments. Tapped between manifold and cabin it reads normal, at idle "
        "even high, while the rotor starves.",
        PRACTICE,
        law="filter",
        rules=(Rule(GAUGES, ("filter",), as_tap="instruments"),),
        scene="filter_clogging",
    ),
    Causal(
        "clogged-filter-speeds-the-rotor",
        "When a clogged filter makes the gauge read high, the rotor gets more suction and turns faster.",
        "What is high is the suction behind the filter; less air comes through it, and the rotor turns "
        "slower.",
        PRACTICE,
        law="filter",
        rules=(
            Rule(
                ("rotor_idle_rpm",),
                ("filter",),
                as_fault=HEALTHY,
                as_tap="cabin",
                by_gauge="gauge_idle_inhg",
            ),
        ),
        scene="filter_clogging",
    ),
    Causal(
        "weak-pump-shows-at-cruise",
        "A weak pump shows at full power, where it has most to do, and not at idle.",
        "At full power a pump has plenty to spare, and the regulator hides the loss; it shows first at low "
        "engine speed.",
        PRACTICE,
        law="pump",
        rules=_shows_at_cruise("pump"),
        scene="pump_or_leak",
    ),
    Causal(
        "leak-shows-at-cruise",
        "A leaking hose loses most at full power, so there the gauge drops first.",
        "It shows first at low engine speed, where the pump has nothing to spare; at the gauge it looks just "
        "like a weak pump.",
        PRACTICE,
        law="leak",
        rules=_shows_at_cruise("leak"),
        scene="pump_or_leak",
    ),
    Causal(
        "worn-bearings-lower-the-suction",
        "Worn bearings show at the suction gauge.",
        "The gauge measures air, and the same air goes through. Worn bearings show in a short run-down and "
        "in drift, with the gauge normal.",
        PRACTICE,
        law="bearings",
        rules=(Rule(GAUGES, ("bearings",), as_fault="pump"),),
        scene="worn_bearing",
    ),
    Causal(
        "drift-means-suction",
        "If it drifts too much, the suction must be failing.",
        "Drift alone separates nothing: worn bearings and bad balance give it with the best suction.",
        HANDBOOK,
        law="bearings",
        rules=(Rule(DRIFTS, ("bearings",), as_fault=HEALTHY),),
        scene="worn_bearing",
    ),
    Causal(
        "green-gauge-good-instrument",
        "With the gauge in the green the instrument is good.",
        "The gauge says nothing of the bearings, and, tapped between manifold and cabin, nothing of the "
        "filter.",
        PRACTICE,
        law="gauge",
        rules=(Rule(BEHIND_THE_GAUGE, as_fault=HEALTHY, in_the_green=True),),
        scene="worn_bearing",
    ),
    Causal(
        "gauge-tells-rotor-speed",
        "The rotor's speed goes with the gauge: half the suction, half the speed.",
        "The air's speed goes about by the square root of the suction across the jets, and the gauge may not "
        "measure there; bearings slow the rotor at any suction.",
        PRACTICE,
        law="gauge",
        rules=(
            Rule(("rotor_cruise_rpm",), as_fault=HEALTHY, by_gauge="gauge_cruise_inhg"),
            Rule(("rotor_idle_rpm",), as_fault=HEALTHY, by_gauge="gauge_idle_inhg"),
        ),
        scene="turn_with_slow_rotor",
    ),
    Causal(
        "regulator-governs-the-rotor",
        "The regulator holds the rotor's speed; the gauge does not show where it is set.",
        "It is a valve that lets cabin air in above its setting: it caps the suction, and the gauge shows "
        "the cap at every power.",
        PRACTICE,
        law="regulator",
        rules=(Rule(GAUGES, ("regulator",), as_fault=HEALTHY),),
        scene="regulator_set_low",
    ),
    Causal(
        "suction-same-at-idle",
        "The regulator holds the suction at idle just as at cruise.",
        "A regulator can only let suction go, not make it: at idle the pump moves too little, and the "
        "suction falls.",
        HANDBOOK,
        law="regulator",
        rules=(
            Rule(("gauge_idle_inhg",), as_field="gauge_cruise_inhg"),
            Rule(("rotor_idle_rpm",), as_field="rotor_cruise_rpm"),
            Rule(("drift_idle_deg_15min",), as_field="drift_cruise_deg_15min"),
        ),
    ),
    Causal(
        "gyro-stops-with-the-pump",
        "When the suction goes, the gyro stops at once.",
        "The rotor runs down for some ten minutes, drifting more and more: the failure comes slowly.",
        HANDBOOK,
        law="running",
        rules=(Rule(("run_down_min",), factor=0.0),),
        scene="pump_failure_in_cloud",
    ),
    Causal(
        "ready-with-the-gauge",
        "As soon as the gauge is in the green after starting, the gyro is ready.",
        "The air is there in a second, but the rotor needs about five minutes to come to speed.",
        HANDBOOK,
        law="running",
        rules=(Rule(("spin_up_min",), factor=0.0),),
        scene="turn_with_slow_rotor",
    ),
    Causal(
        "short-run-down-means-suction",
        "A rotor that runs down quickly has had too little suction.",
        "From a known speed, the time to run down measures the bearings; the suction has no part in it.",
        PRACTICE,
        law="bearings",
        rules=(
            Rule(("run_down_min",), ("bearings",), as_fault=HEALTHY),
            Rule(("run_down_min",), ("pump", "leak", "regulator", "filter"), as_fault="bearings"),
        ),
        scene="run_down_side_by_side",
    ),
    Causal(
        "three-degrees-means-worn",
        "Three degrees in a quarter of an hour means a worn instrument.",
        "Take the Earth's turning and the journey out first: at 60 north a perfect instrument moves by more "
        "than three degrees in that time.",
        DRIFT_LIMIT_TEXT,
        law="allowance",
        # Whatever is seen is taken for the instrument's own, so a good one is expected to show no more.
        rules=(Rule(("seen_drift_deg_15min",), as_field="drift_cruise_deg_15min"),),
        scene="fifteen_minutes_70n",
    ),
)
