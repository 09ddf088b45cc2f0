"""Wrong ideas on what the instruments run on: suction, the electrical bus, a venturi."""

from lubberline.simulation.misconceptions.idea import PRACTICE, Structural

PANEL_TEXT = "FAA-H-8083-25C, chapter 8, on what drives gyroscopic instruments"
BERNOULLI_TEXT = "Bernoulli's theorem: the drop in a venturi is in proportion to the dynamic pressure"

IDEAS: tuple[Structural, ...] = (
    Structural(
        "gyros-run-on-suction",
        "All gyro instruments run on suction.",
        "Each gyro runs on what it is connected to. Many aircraft have one of them on the electrical bus, so"
        " that no single failure takes them all.",
        PANEL_TEXT,
        law="supply",
        change={"gyros_on_suction": 1.0},
        scene="pump_failure_in_cloud",
    ),
    Structural(
        "gyros-run-on-the-bus",
        "Gyro instruments are electric, so losing suction stops none of them.",
        "An air-driven gyro has no motor: its rotor turns only while air is drawn through the instrument.",
        PANEL_TEXT,
        law="supply",
        change={"gyros_on_bus": 1.0},
        scene="pump_failure_in_cloud",
    ),
    Structural(
        "heading-indicator-always-on-suction",
        "The heading indicator runs on suction in every aircraft.",
        "There are electric heading indicators too. The lines that lead to an instrument, or the aircraft's "
        "handbook, show what drives it.",
        PANEL_TEXT,
        law="supply",
        change={"heading_on_suction": 1.0},
    ),
    Structural(
        "suction-pump-is-electric",
        "Without electricity the suction pump stops too.",
        "The pump is driven by the engine. While the engine turns there is suction, with or without "
        "electricity.",
        PANEL_TEXT,
        law="supply",
        change={"pumps_on_bus": 1.0},
    ),
    Structural(
        "dead-bus-dead-panel",
        "Without electricity the whole panel is dead, the compass too.",
        "Without electricity only the instruments that are connected to the bus stop. A magnetic compass "
        "needs electricity for its light alone.",
        PANEL_TEXT,
        law="supply",
        change={"panel_on_bus": 1.0},
    ),
    Structural(
        "each-pump-has-its-own-instruments",
        "With two pumps, each of them drives its own half of the instruments.",
        "Both pumps draw on one manifold through check valves, so either of them can drive all air-driven "
        "instruments.",
        PRACTICE,
        law="pumps",
        change={"pumps_apart": 1.0},
    ),
    Structural(
        "suction-needs-both-pumps",
        "If one of two pumps fails, the suction is gone.",
        "A check valve closes the failed pump off, and the other keeps up the suction.",
        PRACTICE,
        law="pumps",
        change={"pumps_together": 1.0},
    ),
    Structural(
        "electric-gyro-does-not-wander",
        "An electric heading indicator is driven so evenly that it does not drift.",
        "The drive only keeps the rotor turning. Apparent and transport wander, and the setting that they "
        "make necessary, are the same whatever drives it.",
        PANEL_TEXT,
        law="electric",
        change={"electric_wander": 0.0},
    ),
    Structural(
        "no-flag-means-up-to-speed",
        "As soon as the flag is out of sight, an electric gyro is up to speed.",
        "The flag shows whether there is voltage, not how fast the rotor turns. It needs its time to spin up"
        " after the flag has gone.",
        PRACTICE,
        law="electric",
        change={"flag_means_speed": 1.0},
    ),
    Structural(
        "venturi-in-proportion",
        "Half the airspeed, half the suction of a venturi.",
        "The suction of a venturi varies with the square of the airspeed: at half the speed it is a quarter.",
        BERNOULLI_TEXT,
        law="venturi",
        change={"venturi_power": 1.0},
    ),
    Structural(
        "venturi-from-its-rated-speed",
        "Below its rated speed a venturi gives no suction at all.",
        "There is some suction at any airspeed: it grows with the square of the speed.",
        BERNOULLI_TEXT,
        law="venturi",
        change={"venturi_from_rated": 1.0},
    ),
    Structural(
        "venturi-by-the-engine",
        "A venturi gives its suction as soon as the engine runs.",
        "A venturi needs the speed of the air past it. There is hardly any suction before take-off, and it "
        "stays with the airspeed when the engine stops.",
        BERNOULLI_TEXT,
        law="venturi",
        change={"venturi_by_engine": 1.0},
    ),
    Structural(
        "venturi-cannot-ice",
        "Air drawn from a venturi cannot be stopped by ice.",
        "A venturi stands outside in the airflow, and ice can close it. An engine-driven pump is inside.",
        PRACTICE,
        law="icing",
        change={"venturi_never_ices": 1.0},
    ),
    Structural(
        "ice-outside-stops-the-pump",
        "In icing every source of suction may be lost.",
        "An engine-driven pump draws air from the cabin and is itself inside, so ice on the outside does not"
        " stop it. A venturi stands in the airflow and can be closed by ice.",
        PRACTICE,
        law="icing",
        change={"ice_stops_pumps": 1.0},
    ),
)
