"""The electric heading indicator: what drives it, what fails it, its flag, and what stays the same."""

from functools import cache

from lubberline.instruments.faults import HEALTHY
from lubberline.instruments.suction.drive import ElectricDrive, ElectricState, electric_step, settle_electric
from lubberline.instruments.suction.rotor import Rotor, run_down_s
from lubberline.questions.belief import TRUTH, Belief
from lubberline.questions.models import (
    Drawn,
    Statement,
    gimballing_deg,
    notation,
    rates,
    run_down_by_steps_min,
    statements_model,
    wander_deg_h,
)
from lubberline.questions.models.gimballing import card_error_deg
from lubberline.simulation.supply import BUS, HEADING, SUCTION, Plumbing, running
from lubberline.units import RAD_PER_RPM

SOURCE = "what drives the gyros: FAA-H-8083-25C, chapter 8; earth rate: AFPAM 11-216, section 14.18"
DRIVES = {SUCTION: "suction", BUS: "electricity"}
FAILED = {"pump 1": "the only suction pump", BUS: "the electrical bus"}


@cache
def _steady_rpm() -> float:
    return settle_electric(0.0, ElectricDrive(), Rotor(), HEALTHY).rotor_rad_s / RAD_PER_RPM


@cache
def _spin_up_s(share: float) -> float:
    """From rest to a share of the steady speed, by the motor's own steps."""
    state = ElectricState(0.0, 0.0, 1.0, 1.0)
    seconds = 0.0
    while state.rotor_rad_s < share * _steady_rpm() * RAD_PER_RPM:
        state = electric_step(state, 0.0, ElectricDrive(), Rotor(), HEALTHY, 0.5)
        seconds += 0.5
    return seconds


def _spin_up_closed_s(share: float) -> float:
    """The same from the motor's torque and the rotor's inertia alone, without drag."""
    rotor, drive = Rotor(), ElectricDrive()
    return share * rotor.full_speed_rad_s * rotor.inertia_kgm2 / drive.torque_limit_nm


def _keeps(d: Drawn, believed: Belief = TRUTH) -> bool:
    """Whether a heading indicator on a drive still runs when a part has failed."""
    plumbing = Plumbing({"attitude": SUCTION, HEADING: d["drive"], "turn": BUS})
    return HEADING in running(plumbing, d["failed"], believed.supply)


def _run_down_min(believed: Belief) -> float:
    share: float = believed.seen().run_down_min / TRUTH.seen().run_down_min
    return believed.step("minutes of the rotor", share * run_down_by_steps_min(12000.0, 0.0))


def _wander_deg(d: Drawn) -> float:
    return abs(wander_deg_h(d["latitude_deg"])) * float(d["minutes"]) / 60.0


def _wanders(d: Drawn, believed: Belief) -> bool:
    rate = abs(rates(d["latitude_deg"], believed=believed).earth_deg_h) * believed.supply.electric_wander
    return bool(rate * d["minutes"] / 60.0 > d["limit_deg"])


CLAIMS = statements_model(
    id="electric-claims",
    topic="rotor",
    level="recall",
    claims=(
        Statement(
            "wander",
            "In an aircraft that stands still at {latitude}, a perfect electric heading indicator without a "
            "latitude nut drifts by more than {limit} in {minutes} minutes.",
            ("electric-gyro-does-not-wander", "no-earth-wander", "same-wander-everywhere"),
            lambda draw: {
                "latitude_deg": draw.pick((5.0, 10.0, 45.0, 55.0, 65.0, -40.0, -10.0)),
                "minutes": draw.pick((20.0, 30.0)),
                "limit_deg": draw.pick((2.0, 3.0)),
            },
            lambda d: _wander_deg(d) > d["limit_deg"],
            _wanders,
            "At {latitude} the reading {drift} in {minutes} minutes from apparent wander, with any drive.",
            lambda d: {
                "latitude": notation.latitude(d["latitude_deg"]),
                "minutes": f"{d['minutes']:.0f}",
                "limit": f"{d['limit_deg']:.0f}°",
                "drift": notation.change(wander_deg_h(d["latitude_deg"]) * d["minutes"] / 60.0, 1),
            },
        ),
        Statement(
            "bank",
            "In a turn with {bank} of bank, with the nose 45° from its spin axis, an electric heading "
            "indicator reads wrong by {more} than {limit} from gimballing error.",
            ("bank-leaves-card-alone",),
            lambda draw: {
                "bank_deg": draw.pick((30.0, 35.0, 40.0, 45.0)),
                "limit_deg": draw.pick((2.0, 3.0)),
                "more": draw.pick(("more", "less")),
            },
            lambda d: (abs(card_error_deg(45.0, d["bank_deg"])) > d["limit_deg"]) == (d["more"] == "more"),
            lambda d, believed: (
                (abs(gimballing_deg(45.0, bank_deg=d["bank_deg"], believed=believed)) > d["limit_deg"])
                == (d["more"] == "more")
            ),
            "An electric instrument has the gimbals of an air-driven one: here the error is {error}.",
            lambda d: {
                "bank": f"{d['bank_deg']:.0f}°",
                "limit": f"{d['limit_deg']:.0f}°",
                "more": d["more"],
                "error": notation.degrees(abs(card_error_deg(45.0, d["bank_deg"])), 1),
            },
        ),
        Statement(
            "drive",
            "A heading indicator that is driven by {drive} stops when {failed} fails.",
            (
                *("gyros-run-on-suction", "gyros-run-on-the-bus", "heading-indicator-always-on-suction"),
                *("suction-pump-is-electric", "dead-bus-dead-panel"),
            ),
            lambda draw: {"drive": draw.pick((SUCTION, BUS, BUS)), "failed": draw.pick(("pump 1", BUS))},
            lambda d: (d["drive"] == BUS) == (d["failed"] == BUS),
            lambda d, believed: not _keeps(d, believed),
            "A gyro stops when what drives it is lost, and only then.",
            lambda d: {"drive": DRIVES[d["drive"]], "failed": FAILED[d["failed"]]},
        ),
        Statement(
            "run-down",
            "{minutes} after its supply has failed in flight, the rotor of an electric heading indicator "
            "still turns.",
            ("gyro-stops-with-the-pump", "rotor-takes-much-longer"),
            lambda draw: {"minutes": draw.pick((1.0, 2.0, 3.0, 25.0, 30.0))},
            lambda d: run_down_s(12000.0 * RAD_PER_RPM, 1.0, 0.0, Rotor()) / 60.0 > d["minutes"],
            lambda d, believed: _run_down_min(believed) > d["minutes"],
            "An electric rotor runs on for about ten minutes, like any other; its flag appears at once.",
            lambda d: {
                "minutes": "One minute" if d["minutes"] == 1.0 else f"{d['minutes']:.0f} minutes",
            },
        ),
        Statement(
            "flag",
            "{time} after an electric heading indicator is switched on, with its flag out of "
            "sight, its rotor has reached nine tenths of its full speed.",
            ("no-flag-means-up-to-speed", "rotor-takes-much-longer"),
            lambda draw: {"seconds": draw.pick((5.0, 10.0, 15.0, 240.0, 300.0))},
            lambda d: d["seconds"] > _spin_up_closed_s(0.9),
            lambda d, believed: (
                d["seconds"] / 60.0
                > believed.step(
                    "minutes of the rotor",
                    0.0 if believed.supply.flag_means_speed else _spin_up_s(0.9) / 60.0,
                )
            ),
            "By calculation the motor takes one to two minutes to reach nine tenths of the full speed.",
            lambda d: {
                "time": f"{d['seconds']:.0f} seconds"
                if d["seconds"] < 60.0
                else f"{d['seconds'] / 60.0:.0f} minutes"
            },
        ),
    ),
    source=SOURCE,
    second_way="the engine's gyro, motor and rotor",
    steps=1,
)

MODELS = (CLAIMS,)
