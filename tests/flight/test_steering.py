"""Flying by command: the samples are those of a whole motion, turns obey their formula, targets are met."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch

from lubberline.flight.motion import SAMPLE, STEP_S, smooth_motion
from lubberline.flight.steering import BANK, HEADING, RATE, Steer, Steered, begin_steered, chase, fly_steered
from lubberline.flight.turbulence import ANSWER_DAMPING, ANSWER_HZ, GUST_TIME_S, shaping
from lubberline.units import DEG, KT_MPS

G = 9.80665
SHAPING = shaping()
LEVEL = Steer(airspeed_mps=50.0, engine_rpm=2400.0)
GIVEN = (
    "latitude_rad",
    "longitude_rad",
    "altitude_m",
    "north_mps",
    "east_mps",
    "down_mps",
    "airspeed_mps",
    "heading_rad",
    "pitch_rad",
    "bank_rad",
    "engine_rpm",
)


def first(airspeed_mps: float = 50.0, latitude_deg: float = 45.0) -> Steered:
    return Steered(latitude_deg * DEG, 0.1, 1000.0, 0.0, airspeed_mps, 2400.0)


def flown(*legs: tuple[int, Steer], start: Steered | None = None, seed: int = 1) -> NDArray[np.void]:
    """Complete samples of a flight told so many steps of each, in stretches of 37."""
    state, samples = begin_steered(start or first(), legs[0][1], SHAPING)
    random = np.random.default_rng(seed)
    parts, last, step = [samples[:1]], samples, 0
    for steps, steer in legs:
        left = steps
        while left:
            count = min(left, 37)
            stretch = np.zeros(count + 2, dtype=SAMPLE)
            stretch[:2] = last
            normal = random.standard_normal((count, 12))
            state = fly_steered(state, steer, step, normal, SHAPING, stretch)
            parts.append(stretch[1:-1])
            last, step, left = stretch[-2:].copy(), step + count, left - count
    return np.concatenate(parts)


def test_samples_are_those_of_the_whole_motion() -> None:
    """`smooth_motion` is the contract: the same position and attitude give the same rates and forces."""
    samples = flown(
        (60, LEVEL),
        (300, LEVEL._replace(turning=BANK, turn_to=30 * DEG)),
        (300, LEVEL._replace(roll_rad=180 * DEG)),
        (200, LEVEL._replace(pitch_rad=88 * DEG)),
        (300, LEVEL._replace(climb_mps=5.0, airspeed_mps=70.0)),
        (300, LEVEL._replace(bank_sd_rad=5 * DEG, turning=RATE, turn_to=-3 * DEG)),
    )
    whole = smooth_motion(**{name: np.ascontiguousarray(samples[name]) for name in GIVEN})
    for name in SAMPLE.names or ():
        # the last sample of a whole motion has nothing after it
        np.testing.assert_allclose(samples[name][:-1], whole[name][:-1], rtol=0, atol=1e-9, err_msg=name)


@pytest.mark.parametrize("speed_kt", [60.0, 110.0, 250.0])
@pytest.mark.parametrize("bank_deg", [-45.0, 15.0, 30.0, 60.0])
def test_a_banked_turn_has_its_rate_and_no_side_force(speed_kt: float, bank_deg: float) -> None:
    """Heading rate g tan(bank) / V and load factor 1 / cos(bank): any text on flight mechanics."""
    speed = speed_kt * KT_MPS
    turn = LEVEL._replace(airspeed_mps=speed, turning=BANK, turn_to=bank_deg * DEG)
    samples = flown((300, turn), start=first(speed))
    steady = samples[150:-1]
    rate = np.gradient(steady["heading_rad"], STEP_S)
    np.testing.assert_allclose(rate, G * math.tan(bank_deg * DEG) / speed, rtol=1e-9)
    assert np.abs(steady["force_right_mps2"]).max() < 2e-3 * G
    np.testing.assert_allclose(-steady["force_down_mps2"] / G, 1.0 / math.cos(bank_deg * DEG), rtol=2e-3)
    # While rolling in and out, too, the ball stays within a hair of the middle.
    assert np.abs(samples["force_right_mps2"]).max() < 0.01 * G


@pytest.mark.parametrize("speed_mps", [20.0, 56.6, 150.0])
@pytest.mark.parametrize("to_deg", [3.0, 40.0, 180.0, -120.0])
def test_a_heading_is_met_and_not_passed(speed_mps: float, to_deg: float) -> None:
    steer = LEVEL._replace(airspeed_mps=speed_mps, turning=HEADING, turn_to=to_deg * DEG)
    heading_deg = flown((2500, steer), start=first(speed_mps))["heading_rad"] / DEG
    assert heading_deg[-1] == pytest.approx(to_deg, abs=1e-6)
    assert (np.sign(to_deg) * heading_deg).max() < abs(to_deg) + 1e-6


def test_on_the_ground_it_turns_flat() -> None:
    taxi = LEVEL._replace(airspeed_mps=6.0, on_ground=1.0, turning=HEADING, turn_to=90 * DEG)
    samples = flown((400, taxi), start=first(6.0))
    assert samples["heading_rad"][-1] / DEG == pytest.approx(90.0, abs=1e-3)
    assert not samples["bank_rad"].any()
    assert np.abs(np.gradient(samples["heading_rad"], STEP_S)).max() <= 10.001 * DEG


def test_attitudes_leave_heading_and_path_alone() -> None:
    rolled = flown((50, LEVEL), (200, LEVEL._replace(roll_rad=-180 * DEG)))
    assert rolled["bank_rad"][-1] / DEG == pytest.approx(-180.0, abs=1e-6)
    assert not rolled["heading_rad"].any()
    # upside down at one g: the seat pulls
    assert rolled["force_down_mps2"][-1] == pytest.approx(G, abs=1e-6)
    pitched = flown((200, LEVEL._replace(pitch_rad=95 * DEG)))
    assert pitched["pitch_rad"][-1] / DEG == pytest.approx(95.0, abs=1e-6)
    assert not pitched["down_mps"].any()


def test_speed_and_climb_are_reached_gently() -> None:
    faster = flown((600, LEVEL._replace(airspeed_mps=80.0, speed_mps2=0.1 * G, climb_mps=4.0)))
    assert faster["airspeed_mps"][-1] == pytest.approx(80.0, abs=1e-6)
    assert -faster["down_mps"][-1] == pytest.approx(4.0, abs=1e-6)
    assert np.gradient(faster["airspeed_mps"], STEP_S).max() == pytest.approx(0.1 * G, rel=1e-6)
    load = -faster["force_down_mps2"] / G
    assert load.min() > 0.9
    assert load.max() < 1.1


def test_it_stops_short_of_pole_and_sea() -> None:
    north = flown((3000, LEVEL._replace(airspeed_mps=300.0)), start=first(300.0, latitude_deg=89.85))
    assert north["latitude_rad"].max() / DEG == pytest.approx(89.9)
    down = flown((3000, LEVEL._replace(climb_mps=-10.0)))
    assert -2.0 < down["altitude_m"].min() < 1.0


def test_rough_air_has_the_stated_spectrum_and_sizes() -> None:
    """The density of `flight/turbulence.py`, worked out here again, against Welch's estimate."""
    samples = flown((60_000, LEVEL._replace(bank_sd_rad=5 * DEG)))[600:]
    bank_deg = samples["bank_rad"] / DEG
    assert bank_deg.std() == pytest.approx(5.0, rel=0.05)
    assert (samples["pitch_rad"] / DEG).std() == pytest.approx(2.0, rel=0.05)
    path = np.unwrap(np.arctan2(samples["east_mps"], samples["north_mps"]))
    assert ((samples["heading_rad"] - path) / DEG).std() == pytest.approx(1.5, rel=0.05)
    assert np.gradient(samples["down_mps"], STEP_S).std() / G == pytest.approx(0.25, rel=0.15)
    frequency, density = welch(bank_deg, 1.0 / STEP_S, nperseg=2048)
    w, w0 = 2 * math.pi * frequency, 2 * math.pi * ANSWER_HZ
    stated = w**2 / ((w0**2 - w**2) ** 2 + (2 * ANSWER_DAMPING * w0 * w) ** 2) / (1 + (GUST_TIME_S * w) ** 2)
    band = (frequency > 0.03) & (frequency < 2.0)
    ratio = density[band] / stated[band]
    assert np.std(ratio / ratio.mean()) < 0.3
    assert abs((samples["heading_rad"] / DEG).mean()) < 0.3


@pytest.mark.parametrize("target", [0.001, 1.0, -70.0])
def test_a_chase_keeps_its_limits_and_stops_at_its_target(target: float) -> None:
    value, rate, peak = 0.0, 0.0, 0.0
    for _ in range(400):
        before = rate
        value, rate = chase(value, rate, target, 15.0, 30.0, STEP_S)
        assert abs(rate) <= 15.0
        assert abs(rate - before) <= 30.0 * STEP_S + 1e-9
        peak = max(peak, value * math.copysign(1.0, target))
    assert value == pytest.approx(target, abs=1e-9)
    assert peak <= abs(target) + 1e-9


@pytest.mark.parametrize(
    ("steer", "steepest_deg"),
    [
        (LEVEL._replace(turning=HEADING, turn_to=170.0 * DEG, airspeed_mps=120.0), 25.0),
        (LEVEL._replace(turning=RATE, turn_to=30.0 * DEG, airspeed_mps=120.0), 75.0),
    ],
    ids=["a heading, at the bank for headings", "a rate that no bank gives"],
)
def test_a_bank_goes_to_its_limit_and_no_further(steer: Steer, steepest_deg: float) -> None:
    bank_deg = flown((200, steer), start=first(120.0))["bank_rad"] / DEG
    assert bank_deg.max() == pytest.approx(steepest_deg, abs=0.5)
