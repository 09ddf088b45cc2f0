"""Wrong ideas on faults of the air drive and where each of them shows."""

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
    """A fault that shows in cruise as it really shows at idle, and not at idle."""
    pairs = (GAUGES, ROTORS, DRIFTS[:2])
    worse = tuple(Rule((cruise,), (fault,), as_field=idle) for idle, cruise in pairs)
    return (*worse, Rule(tuple(idle for idle, _ in pairs), (fault,), as_fault=HEALTHY))


IDEAS: tuple[Causal, ...] = (
    Causal(
        "clogged-filter-reads-low",
        "A clogged filter always shows as low suction on the gauge.",
        "A clogged filter shows as low suction only on a gauge connected across the instruments. A gauge "
        "between manifold and cabin reads normal, and even high at idle, while the rotor runs slow.",
        PRACTICE,
        law="filter",
        rules=(Rule(GAUGES, ("filter",), as_tap="instruments"),),
        scene="filter_clogging",
    ),
    Causal(
        "clogged-filter-speeds-the-rotor",
        "When a clogged filter makes the gauge read high, the rotor gets more suction and turns faster.",
        "The gauge shows the suction on the pump's side of the filter. Less air comes through the filter, "
        "and the rotor turns more slowly.",
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
        "A weak pump shows at full power, where it works hardest, and not at idle.",
        "At full power a pump has plenty to spare, and the regulator hides the loss. A weak pump shows "
        "first at low engine speed.",
        PRACTICE,
        law="pump",
        rules=_shows_at_cruise("pump"),
        scene="pump_or_leak",
    ),
    Causal(
        "leak-shows-at-cruise",
        "A leaking hose loses most at full power, so the gauge drops there first.",
        "A leak shows first at low engine speed, where the pump has nothing to spare. On the gauge it looks"
        " just like a weak pump.",
        PRACTICE,
        law="leak",
        rules=_shows_at_cruise("leak"),
        scene="pump_or_leak",
    ),
    Causal(
        "worn-bearings-lower-the-suction",
        "Worn bearings show on the suction gauge.",
        "The gauge measures suction, and worn bearings do not change the flow of air. They show in a short "
        "run-down and in drift, with the gauge normal.",
        PRACTICE,
        law="bearings",
        rules=(Rule(GAUGES, ("bearings",), as_fault="pump"),),
        scene="worn_bearing",
    ),
    Causal(
        "drift-means-suction",
        "If it drifts too much, the suction must be failing.",
        "Drift alone does not show which fault it is: worn bearings and imbalance cause drift even with "
        "full suction.",
        HANDBOOK,
        law="bearings",
        rules=(Rule(DRIFTS, ("bearings",), as_fault=HEALTHY),),
        scene="worn_bearing",
    ),
    Causal(
        "green-gauge-good-instrument",
        "With the gauge in the green, the instrument is good.",
        "The gauge shows nothing about the bearings, and it does not fall with a clogged filter if it is "
        "connected between manifold and cabin.",
        PRACTICE,
        law="gauge",
        rules=(Rule(BEHIND_THE_GAUGE, as_fault=HEALTHY, in_the_green=True),),
        scene="worn_bearing",
    ),
    Causal(
        "gauge-tells-rotor-speed",
        "The rotor's speed is proportional to the gauge: half the suction, half the speed.",
        "The speed of the air varies roughly with the square root of the suction across the jets, and the "
        "gauge may be connected elsewhere. Worn bearings slow the rotor at any suction.",
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
        "The regulator controls the rotor's speed; the gauge does not show its setting.",
        "The regulator is a valve that lets cabin air in above its setting. It limits the suction, and the "
        "gauge shows that limit whenever the pump can reach it.",
        PRACTICE,
        law="regulator",
        rules=(Rule(GAUGES, ("regulator",), as_fault=HEALTHY),),
        scene="regulator_set_low",
    ),
    Causal(
        "suction-same-at-idle",
        "The regulator holds the suction at idle just as at cruise.",
        "A regulator can only reduce suction, not produce it. At idle even a healthy pump moves too little "
        "air for the full suction.",
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
        "When the suction fails, the gyro stops at once.",
        "The rotor takes about ten minutes to run down, and the card drifts more and more: the failure is "
        "gradual.",
        HANDBOOK,
        law="running",
        rules=(Rule(("run_down_min",), factor=0.0),),
        scene="pump_failure_in_cloud",
    ),
    Causal(
        "ready-with-the-gauge",
        "As soon as the gauge is in the green after starting, the gyro is ready.",
        "The suction is there within a second, but the rotor needs about five minutes to reach its speed.",
        HANDBOOK,
        law="running",
        rules=(Rule(("spin_up_min",), factor=0.0),),
        scene="turn_with_slow_rotor",
    ),
    Causal(
        "short-run-down-means-suction",
        "A rotor that runs down quickly has had too little suction.",
        "From a known speed the run-down time depends on the bearings, not on the suction.",
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
        "Subtract apparent and transport wander first: at latitude 60 degrees a perfect instrument drifts "
        "more than three degrees in that time.",
        DRIFT_LIMIT_TEXT,
        law="allowance",
        # Whatever is seen is taken for the instrument's own, so a good one is expected to show no more.
        rules=(Rule(("seen_drift_deg_15min",), as_field="drift_cruise_deg_15min"),),
        scene="fifteen_minutes_70n",
    ),
)
