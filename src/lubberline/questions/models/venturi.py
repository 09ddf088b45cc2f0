"""The venturi: its suction by airspeed, before take-off, with a stopped engine and in icing."""

import math
from typing import Any

from lubberline.questions.models import (
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    notation,
    statements_model,
)
from lubberline.simulation.supply import TRUE_SUPPLY, SupplyLaws, venturi_inhg
from lubberline.units import INHG_PA, KT_MPS

SOURCE = (
    "Bernoulli's theorem: the drop in a venturi is in proportion to the square of the airspeed; its place "
    "outside and its icing: common practice, no source"
)
LAWS = ("venturi-in-proportion", "venturi-from-its-rated-speed", "venturi-by-the-engine")
DENSITY_KG_M3 = 1.225


def _by_the_throat_inhg(rated_inhg: float, rated_kt: float, airspeed_kt: float, laws: SupplyLaws) -> float:
    """The drop from the air's speed in the throat, as narrow as the rated drop makes it."""
    if laws.venturi_by_engine:
        airspeed_kt = rated_kt
    if laws.venturi_from_rated and airspeed_kt < rated_kt:
        return 0.0
    felt_kt = rated_kt * math.exp(0.5 * laws.venturi_power * math.log(airspeed_kt / rated_kt))
    rated_mps, felt_mps = rated_kt * KT_MPS, felt_kt * KT_MPS
    throat_mps = math.sqrt(rated_mps**2 + 2.0 * rated_inhg * INHG_PA / DENSITY_KG_M3)
    now_mps = throat_mps / rated_mps * felt_mps
    return 0.5 * DENSITY_KG_M3 * (now_mps**2 - felt_mps**2) / INHG_PA


def _speed(d: Drawn) -> Worked:
    rated, at, now = d["rated_inhg"], d["rated_kt"], d["airspeed_kt"]
    share = now / at
    return Worked(
        rated * share * share,
        (
            Wrong("venturi-in-proportion", rated * share),
            Wrong("venturi-from-its-rated-speed", 0.0 if share < 1.0 else rated * share * share),
            Wrong("venturi-by-the-engine", rated),
        ),
        {
            "rated": notation.INHG.written(rated),
            "at": f"{at:.0f} kt",
            "now": f"{now:.0f} kt",
            "share": f"{share:.2f}",
        },
    )


SPEED = ItemModel(
    id="venturi-at-speed",
    topic="suction",
    level="apply",
    kind="number",
    draw=lambda draw: {
        "rated_inhg": draw.pick((4.0, 4.5, 5.0)),
        "rated_kt": draw.pick((90.0, 100.0, 110.0)),
        "airspeed_kt": draw.pick((50.0, 55.0, 60.0, 65.0, 70.0, 120.0, 125.0)),
    },
    work=_speed,
    second=lambda d, believed: _by_the_throat_inhg(
        d["rated_inhg"], d["rated_kt"], d["airspeed_kt"], believed.supply
    ),
    second_way="the air's speed in the throat, and Bernoulli's theorem",
    words=Words(
        stem="The gyros of an aeroplane are driven by a venturi outside its fuselage. At an indicated "
        "airspeed of {at} it gives {rated}; there is no regulator. How much suction does it give at {now}, "
        "in inches of mercury?",
        reason="The suction of a venturi varies with the square of the airspeed. The speed is {share} times "
        "that at which it gives {rated}, so the suction is {key}.",
        feedback={
            "venturi-in-proportion": "With {share} times the speed it is {key}.",
            "venturi-from-its-rated-speed": "At {now} it still gives {key}.",
            "venturi-by-the-engine": "At {now} it gives {key}.",
        },
    ),
    source=SOURCE,
    steps=2,
    notation=notation.INHG,
    apart=0.4,
    agree=0.06,
    tolerance=0.15,
)


def _enough(d: Drawn, laws: SupplyLaws) -> bool:
    return bool(_by_the_throat_inhg(4.5, 100.0, d["airspeed_kt"], laws) >= d["needed_inhg"])


def _speed_facts(d: Drawn) -> dict[str, str]:
    shown = venturi_inhg(4.5, 100.0, d["airspeed_kt"])
    return {
        "speed": f"{d['airspeed_kt']:.0f} kt",
        "needed": notation.INHG.written(d["needed_inhg"]),
        "shown": notation.INHG.written(shown),
    }


def _ices(d: Drawn, laws: SupplyLaws = TRUE_SUPPLY) -> bool:
    if d["part"] == "venturi":
        return not laws.venturi_never_ices
    return bool(laws.ice_stops_pumps)


def _draw_speed(*speeds_kt: float) -> Any:
    return lambda draw: {"airspeed_kt": draw.pick(speeds_kt), "needed_inhg": draw.pick((2.0, 3.0, 4.0))}


def _claim(name: str, text: str, draw: Any, *, enough: bool = True) -> Statement:
    return Statement(
        name,
        text,
        LAWS,
        draw,
        lambda d: (venturi_inhg(4.5, 100.0, d["airspeed_kt"]) >= d["needed_inhg"]) is enough,
        lambda d, believed: _enough(d, believed.supply) is enough,
        "Its suction varies with the square of the airspeed, whatever the engine does: at {speed} it is "
        "about {shown}.",
        _speed_facts,
    )


RATED = "A venturi gives 4.5 inHg at 100 kt of indicated airspeed. "
PARTS = {"venturi": "a venturi outside the fuselage", "pump": "a pump on the engine that draws cabin air"}
CLAIMS = statements_model(
    id="venturi-claims",
    topic="suction",
    level="recall",
    claims=(
        _claim(
            "climb",
            RATED + "In a climb at {speed} with full power it gives {needed} or more.",
            _draw_speed(60.0, 65.0, 70.0, 75.0, 85.0),
        ),
        _claim(
            "glide",
            RATED + "In a glide at {speed} with the engine stopped it gives {needed} or more.",
            _draw_speed(65.0, 75.0, 85.0, 90.0, 95.0),
        ),
        _claim(
            "ground",
            RATED + "In a taxi run at {speed} with the engine at 2000 rpm it gives less than {needed}.",
            _draw_speed(10.0, 15.0, 20.0),
            enough=False,
        ),
        Statement(
            "ice",
            "The gyros of an aeroplane are driven by {part}. In icing conditions ice on the outside of the "
            "aeroplane can take their suction away.",
            ("venturi-cannot-ice", "ice-outside-stops-the-pump"),
            lambda draw: {"part": draw.pick(tuple(PARTS))},
            lambda d: d["part"] == "venturi",
            lambda d, believed: _ices(d, believed.supply),
            "A venturi stands in the airflow, where ice can close it. A pump on the engine is inside.",
            lambda d: {"part": PARTS[d["part"]]},
        ),
    ),
    source=SOURCE,
    second_way="the air's speed in the throat, and Bernoulli's theorem",
    steps=2,
)

MODELS = (SPEED, CLAIMS)
