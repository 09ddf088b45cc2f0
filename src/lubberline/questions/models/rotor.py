"""The rotor: the effect of its speed on drift, how it spins up and how it runs down."""

from functools import cache

import numpy as np

from lubberline.instruments.faults import HEALTHY
from lubberline.instruments.heading_indicator.gyro import Gyro
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.drive import settle_suction, suction_at_rest, suction_step
from lubberline.instruments.suction.rotor import Rotor
from lubberline.questions.models import (
    COMMON,
    PERFECT,
    TRUTH,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Statement,
    Words,
    Worked,
    Wrong,
    flown_legs,
    notation,
    rates,
    run_down_by_steps_min,
    statements_model,
    under,
    wander_deg_h,
)

SOURCE = "rigidity and precession: FAA-H-8083-25C, chapter 8"


def _speeds(d: Drawn) -> tuple[float, float]:
    """Shares of full speed: of the rotor whose drift is known, and of the one that is asked for."""
    return (d["share"], 1.0) if d.get("asked") == "full" else (1.0, d["share"])


def _named_speed(share: float) -> str:
    return "at full speed" if share == 1.0 else f"at {share * 100.0:.0f}% of full speed"


def _real(d: Drawn) -> Worked:
    (known, asked), real = _speeds(d), d["real_deg_15min"]
    share = asked / known
    ideas = (
        "rotor-speed-does-not-matter",
        "more-suction-more-drift",
        "friction-always-reads-low",
        "drift-by-the-square",
    )
    return Worked(
        real / share,
        under(ideas, lambda laws: wander_deg_h(0.0, real_deg_h=real, share=share, laws=laws)),
        {
            "known": _named_speed(known),
            "asked": _named_speed(asked),
            "real": notation.change(real, 1),
            "factor": f"{1.0 / share:.2g}",
        },
    )


def _draw_real(draw: Draw) -> dict[str, float | str]:
    """As often the drift at full speed from that of a slow rotor: the key is as often small as large."""
    asked = draw.pick(("slow", "full"))
    size = draw.signed(1.5, 3.0, 0.5) if asked == "slow" else draw.signed(2.5, 5.0, 0.5)
    return {"real_deg_15min": size, "share": draw.pick((0.5, 0.5, 0.6, 0.75)), "asked": asked}


def _real_second(d: Drawn, believed: Belief) -> float:
    times = 1.0 / d["share"] if d.get("asked") == "full" else d["share"]
    return rates(0.0, real_deg_15min=d["real_deg_15min"], share=times, believed=believed).friction_deg_h / 4.0


REAL = ItemModel(
    id="rotor-real-wander",
    topic="rotor",
    level="apply",
    kind="choice",
    draw=_draw_real,
    work=_real,
    second=_real_second,
    second_way="the engine's precession under that torque at that rotor speed",
    words=Words(
        stem="With its rotor {known}, the reading of a heading indicator {real} in 15 minutes from "
        "friction and imbalance alone. How does the reading change in 15 minutes from the same torques "
        "with the rotor {asked}?",
        reason="The same torque moves a slower gyro faster, in inverse proportion to its speed: with the "
        "rotor {asked}, {factor} times as fast as {known}. The reading {key}.",
        feedback={
            **dict.fromkeys(
                ("rotor-speed-does-not-matter", "more-suction-more-drift", "drift-by-the-square"),
                "The drift {asked} is {factor} times that {known}: the reading {key}.",
            ),
            "friction-always-reads-low": "The sense of the drift does not change: the reading {key}.",
        },
    ),
    source=SOURCE,
    steps=2,
    notation=notation.CHANGE_TENTHS,
    apart=0.4,
    agree=0.3,
    most=2,
)


def _mixed(d: Drawn) -> Worked:
    latitude, share, real = d["latitude_deg"], d["share"], 4.0 * d["real_deg_15min"]
    ideas = ("rotor-speed-does-not-matter", "more-suction-more-drift", "no-earth-wander")
    return Worked(
        wander_deg_h(latitude, real_deg_h=real, share=share),
        (
            *under(ideas, lambda laws: wander_deg_h(latitude, real_deg_h=real, share=share, laws=laws)),
            Wrong("earth-part-by-rotor-speed", wander_deg_h(latitude, real_deg_h=real) / share),
        ),
        {
            "latitude": notation.latitude(latitude),
            "percent": f"{share * 100.0:.0f}",
            "real": notation.rate(real),
            "slow": notation.rate(real / share),
            "earth": notation.rate(wander_deg_h(latitude)),
        },
        signs=1,
        parts=(real / share, wander_deg_h(latitude)),
    )


def _mixed_second(d: Drawn, believed: Belief) -> float:
    found = rates(d["latitude_deg"], real_deg_15min=d["real_deg_15min"], share=d["share"], believed=believed)
    return believed.step("Earth and rotor", found.earth_deg_h, d["share"]) + found.friction_deg_h


MIXED = ItemModel(
    id="rotor-slow-and-the-earth",
    topic="rotor",
    level="judge",
    kind="choice",
    draw=lambda draw: {
        "latitude_deg": draw.latitude_deg(30, 65, 5),
        "real_deg_15min": draw.signed(1.0, 2.5, 0.5),
        "share": draw.pick((0.5, 0.6)),
    },
    work=_mixed,
    second=_mixed_second,
    second_way="the engine's precession at that place, under that torque at that rotor speed",
    words=Words(
        stem="With its rotor at full speed, the reading of a heading indicator {real} from friction and "
        "imbalance alone. Now the rotor turns at {percent}% of full speed, and the aircraft stands still at "
        "{latitude}. There is no latitude nut. How does the reading change in total?",
        reason="From friction and imbalance at this rotor speed the reading {slow}. From apparent wander, "
        "which does not depend on rotor speed, it {earth}. In total it {key}.",
        feedback={
            "rotor-speed-does-not-matter": "At {percent}% of full speed the reading {slow} from friction "
            "and imbalance alone.",
            "more-suction-more-drift": "At {percent}% of full speed the reading {slow} from friction "
            "and imbalance alone.",
            "no-earth-wander": "Apparent wander must be added: from it alone the reading {earth}.",
            "earth-part-by-rotor-speed": "At any rotor speed the reading {earth} from apparent wander at "
            "{latitude}.",
        },
    ),
    source=SOURCE,
    steps=4,
    notation=notation.RATE,
    apart=0.8,
    agree=0.6,
)


# As handbooks have them.
TO_SPEED_MIN, TO_REST_MIN = 5.0, 10.0


@cache
def _spin_up_by_share(share: float) -> float:
    """Time to a fraction of the steady speed with the cruise drive, stepped by 1 s, in seconds."""
    system, rotor = SuctionSystem(), Rotor()
    goal = share * settle_suction(2400.0, 0.0, system, rotor, HEALTHY).rotor_rad_s
    state, seconds = suction_at_rest(0.0, system, rotor, HEALTHY), 0.0
    while state.rotor_rad_s < goal:
        state = suction_step(state, 2400.0, 0.0, system, rotor, HEALTHY, 1.0)
        seconds += 1.0
    return seconds


def _believed_min(believed: Belief, name: str, seconds: float) -> float:
    """A time of the rotor as a student expects it, from the true one."""
    share: float = getattr(believed.seen(), name) / getattr(TRUTH.seen(), name)
    return believed.step("minutes of the rotor", share * seconds / 60.0)


def _at_half_speed(believed: Belief) -> float:
    """How many times as fast friction moves the card at half speed, as a student expects."""
    half, full = (
        rates(0.0, real_deg_15min=2.0, share=share, believed=believed).friction_deg_h for share in (0.5, 1.0)
    )
    return half / full


CLAIMS = statements_model(
    id="rotor-claims",
    topic="rotor",
    level="recall",
    claims=(
        Statement(
            "minutes-to-speed",
            "With a usual air drive, the rotor of a heading indicator has reached nine tenths of its full "
            "speed {minutes} after the engine is started.",
            ("ready-with-the-gauge", "rotor-takes-much-longer"),
            lambda draw: {"seconds": draw.pick((20.0, 30.0, 60.0, 600.0, 900.0))},
            lambda d: d["seconds"] / 60.0 > TO_SPEED_MIN,
            lambda d, believed: (
                d["seconds"] / 60.0 > _believed_min(believed, "spin_up_min", _spin_up_by_share(0.9))
            ),
            "By calculation this takes between five and six minutes; handbooks say to allow about five.",
            lambda d: {
                "minutes": f"{d['seconds']:.0f} seconds"
                if d["seconds"] <= 60
                else f"{d['seconds'] / 60.0:.0f} minutes"
            },
        ),
        Statement(
            "stops-at-once",
            "When the suction fails in flight, the rotor of a heading indicator has stopped within "
            "{minutes}.",
            ("gyro-stops-with-the-pump", "rotor-takes-much-longer"),
            lambda draw: {"minutes": draw.pick((1.0, 2.0, 20.0, 30.0))},
            lambda d: d["minutes"] > TO_REST_MIN,
            lambda d, believed: (
                _believed_min(believed, "run_down_min", 60.0 * run_down_by_steps_min(12000.0, 0.0))
                < d["minutes"]
            ),
            "The run-down of a healthy rotor lasts about ten minutes; for much of that time the reading "
            "looks normal.",
            lambda d: {"minutes": "a minute" if d["minutes"] == 1.0 else f"{d['minutes']:.0f} minutes"},
        ),
        Statement(
            "still-bench",
            "With the rotor at half speed, friction moves the reading {times} as fast as at full speed.",
            ("drift-by-the-square", "rotor-speed-does-not-matter"),
            lambda draw: {"times": draw.pick((2.0, 4.0))},
            lambda d: abs(wander_deg_h(0.0, real_deg_h=8.0, share=0.5) / 8.0 - d["times"]) < 0.3,
            lambda d, believed: abs(_at_half_speed(believed) - d["times"]) < 0.3,
            "The same torque moves a gyro in inverse proportion to its speed: at half of it, twice as fast.",
            lambda d: {"times": "twice" if d["times"] == 2.0 else "four times"},
        ),
    ),
    source="minutes of the rotor: FAA-H-8083-15B, Instrument Flying Handbook, chapter 5",
    second_way="the rotor stepped in time",
    steps=1,
    asks=lambda d: ("run-down",) if d["claim"] == "stops-at-once" else (),
)

AIR_DRIVEN = "[heading_indicator]\nrandom_wander_deg_15min = 0.0\n"
# What a full circle leaves: the jets level to a plane that goes round with the aircraft.
LEFT_AFTER_CIRCLE_DEG = 0.5


@cache
def _left_after_turn_deg(bank_deg: float, believed: Belief) -> float:
    """The error that a level turn of 360 deg leaves on an air-driven card."""
    legs = (
        f'kind = "turn"; by_deg = 360; bank_deg = {bank_deg}',
        'kind = "straight"; minutes = 0.2',
    )
    flown = flown_legs(0.0, 0.0, 100.0, legs, AIR_DRIVEN, believed=believed)
    return float(abs(flown.trace.heading_error_deg[-1]))


@cache
def _caged_change_deg(by_deg: float, believed: Belief) -> float:
    """How much a caged card changes in a turn."""
    legs = (
        'kind = "straight"; minutes = 1',
        'kind = "cage"',
        f'kind = "turn"; by_deg = {by_deg}; rate_deg_s = 3',
    )
    trace = flown_legs(0.0, 10.0, 100.0, legs, PERFECT, believed=believed).trace
    shown = np.unwrap(trace.indicated_heading_deg, period=360.0)
    return float(abs(shown[-1] - shown[62]))


def _bench_share() -> float:
    """Drift on a still bench as a share of apparent wander: friction of both gimbals against the gyro."""
    gyro = Gyro()
    grip = gyro.still_rate_rad_s * gyro.full_momentum_nms
    return 1.0 / (1.0 + gyro.outer_friction_nm * gyro.inner_friction_nm / grip**2)


@cache
def _flown_bench_share(latitude_deg: float, believed: Belief) -> float:
    """The same in an engine flight that stands still with the engine stopped."""
    leg = 'kind = "wait"; minutes = 10; engine_rpm = 0'
    flown = flown_legs(latitude_deg, 0.0, 0.0, (leg,), PERFECT, believed=believed)
    return float(abs(flown.trace.heading_error_deg[-1] / flown.ledger.earth_deg[-1]))


LEVELLING = statements_model(
    id="rotor-levelling-claims",
    topic="rotor",
    level="apply",
    claims=(
        Statement(
            "turn",
            "After a level turn of 360° with {bank} of bank, with the wings level again, a perfect heading "
            "indicator with its rotor at full speed is wrong by more than {limit}.",
            ("friction-drags-the-card-round",),
            lambda draw: {"bank_deg": draw.pick((30.0, 45.0)), "limit_deg": draw.pick((3.0, 5.0))},
            lambda d: d["limit_deg"] < LEFT_AFTER_CIRCLE_DEG,
            lambda d, believed: _left_after_turn_deg(d["bank_deg"], believed) > d["limit_deg"],
            "Through a full circle the air jets level the gyro to a plane that goes round with the aircraft. "
            "Only a small part of a degree is left.",
            lambda d: {
                "limit": f"{d['limit_deg']:.0f}°",
                "bank": f"{d['bank_deg']:.0f}°",
            },
        ),
        Statement(
            "bench",
            "In an aircraft that stands still at {latitude} with the engine stopped, a heading indicator at "
            "full rotor speed drifts at less than half the rate of apparent wander.",
            ("still-bench-proves-it",),
            lambda draw: {"latitude_deg": draw.latitude_of((35.0, 45.0, 50.0, -40.0))},
            lambda d: _bench_share() < 0.5,
            lambda d, believed: _flown_bench_share(d["latitude_deg"], believed) < 0.5,
            "Only vibration frees the card. Without it the reading drifts, by calculation, at about "
            "{percent}% of that rate, so a test on a quiet bench can look too good.",
            lambda d: {
                "latitude": notation.latitude(d["latitude_deg"]),
                "percent": f"{round(100.0 * _bench_share(), -1):.0f}",
            },
        ),
        Statement(
            "caged",
            "In a turn through {by} the reading of a caged heading indicator changes by {by}.",
            ("caged-card-goes-on",),
            lambda draw: {"by_deg": draw.pick((60.0, 90.0, 120.0, 150.0))},
            # A caged gyro is locked to the case.
            lambda d: d["by_deg"] == 0.0,
            lambda d, believed: abs(_caged_change_deg(d["by_deg"], believed) - d["by_deg"]) < 5.0,
            "The reading does not change in the turn, because a caged gyro turns with the aircraft.",
            lambda d: {"by": f"{d['by_deg']:.0f}°"},
        ),
    ),
    source=COMMON,
    second_way="engine flights",
    steps=2,
)

MODELS = (REAL, MIXED, CLAIMS, LEVELLING)
