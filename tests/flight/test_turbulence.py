"""Rough air: its size, its spectrum, and that it leaves the flight where it was."""

import math

import numpy as np
import pytest
from scipy.signal import welch

from lubberline.flight.motion import STEP_S
from lubberline.flight.turbulence import (
    ANSWER_DAMPING,
    ANSWER_HZ,
    GUST_TIME_S,
    LEVEL_BANK_SD_DEG,
    rough_air,
    shaped_noise,
)
from tests.flight.hand_written import degrees, flown, leg

G = 9.80665


def steady(motion):
    return motion.samples[200:-200]


@pytest.mark.parametrize("level", ["light", "moderate", "severe"])
def test_each_level_has_its_standard_deviations(level):
    samples = steady(flown(leg("rough", level=level), leg("straight", minutes=90), seed=11))
    sd_deg = LEVEL_BANK_SD_DEG[level]
    assert np.degrees(samples["bank_rad"].std()) == pytest.approx(sd_deg, rel=0.05)
    assert np.degrees(samples["pitch_rad"].std()) == pytest.approx(0.4 * sd_deg, rel=0.05)
    path = np.unwrap(np.arctan2(samples["east_mps"], samples["north_mps"]))
    assert np.degrees((samples["heading_rad"] - path).std()) == pytest.approx(0.3 * sd_deg, rel=0.05)
    # The step of 0.1 s takes a tenth off the quickest motions.
    rise = np.gradient(samples["down_mps"], STEP_S)
    assert rise.std() / G == pytest.approx(0.05 * sd_deg, rel=0.15)


def test_the_noise_is_gaussian_and_has_the_stated_spectrum():
    """Welch's estimate against the spectrum worked out here again: slopes +20 and -40 dB a decade."""
    noise, _, _ = shaped_noise(400_000, np.random.default_rng(5))
    assert noise.std() == pytest.approx(1.0, rel=0.02)
    assert (np.abs(noise) < 1.0).mean() == pytest.approx(0.6827, abs=0.01)
    frequency, density = welch(noise, 1.0 / STEP_S, nperseg=4096)

    def slope_db(low, high):
        band = (frequency >= low) & (frequency <= high)
        return 10.0 * np.polyfit(np.log10(frequency[band]), np.log10(density[band]), 1)[0]

    assert slope_db(0.01, 0.05) == pytest.approx(20.0, abs=2.0)
    assert slope_db(1.5, 4.0) == pytest.approx(-40.0, abs=2.0)
    assert 0.2 < frequency[np.argmax(density)] < 0.5
    w, w0 = 2 * math.pi * frequency, 2 * math.pi * ANSWER_HZ
    stated = w**2 / ((w0**2 - w**2) ** 2 + (2 * ANSWER_DAMPING * w0 * w) ** 2) / (1 + (GUST_TIME_S * w) ** 2)
    band = (frequency > 0.03) & (frequency < 4.0)
    ratio = density[band] / stated[band]
    assert np.std(ratio / ratio.mean()) < 0.15


def test_the_integral_is_the_integral_and_stays_bounded():
    noise, integral, derivative_sd = shaped_noise(200_000, np.random.default_rng(2))
    np.testing.assert_allclose(np.gradient(integral, STEP_S)[1:-1], noise[1:-1], atol=0.15)
    assert np.abs(integral).max() < 6.0 * integral.std()
    assert np.gradient(noise, STEP_S).std() == pytest.approx(derivative_sd, rel=0.15)


def test_rocking_in_a_bank_swings_the_path_as_the_slope_of_the_turn_says():
    """Sideways acceleration of a turn is g tan(bank): a small rocking adds g / cos(bank)^2 of itself."""
    steady = np.full(2000, 1.0)
    level, banked = (rough_air(0.03 * steady, bank * steady, 50.0 * steady, 3) for bank in (0.0, 0.9))
    heave = np.tan(0.9) * np.gradient(banked.rise_m, STEP_S) / 50.0
    expected = level.path_rad / np.cos(0.9) ** 2
    np.testing.assert_allclose(banked.path_rad - heave, expected, rtol=1e-9, atol=1e-12)


def test_heading_and_altitude_do_not_wander_off():
    motion = flown(
        leg("rough", level="severe"),
        leg("straight", minutes=60),
        leg("rough", level="off"),
        leg("straight", minutes=1),
    )
    heading, altitude = degrees(motion, "heading_rad"), motion.samples["altitude_m"]
    for part in np.array_split(heading[200:-800], 6):
        assert abs(part.mean()) < 0.3
    assert 1.0 < heading[200:-800].std() < 5.0
    assert heading[-1] == 0.0
    assert altitude[-1] == pytest.approx(altitude[0], abs=1e-9)


def test_a_turn_in_rough_air_ends_on_its_heading_and_keeps_the_ball_near_the_middle():
    rough = flown(
        leg("rough", level="moderate"),
        leg("turn", by_deg=720, bank_deg=30),
        leg("rough", level="off"),
        leg("straight", seconds=20),
    )
    assert degrees(rough, "heading_rad")[-1] == pytest.approx(720.0, abs=0.01)
    side = rough.samples["force_right_mps2"].std()
    rocking = rough.samples["bank_rad"][100:-300].std()
    # Rocking without the path's answer would be felt as g times the bank.
    assert side < 0.4 * G * rocking


def test_rough_air_fades_in_and_out_and_stays_off_the_ground():
    motion = flown(
        leg("rough", level="severe"),
        leg("wait", minutes=1),
        leg("accelerate", to_kt=70, at_g=0.2),
        leg("climb", to_altitude_ft=3500),
        leg("rough", level="off"),
        leg("straight", seconds=30),
        airspeed_kt=0,
    )
    bank = degrees(motion, "bank_rad")
    climbing = np.flatnonzero(motion.samples["altitude_m"] != motion.samples["altitude_m"][0])[0]
    assert (bank[:climbing] == 0.0).all()
    assert (bank[-300:] == 0.0).all()
    assert np.abs(bank[climbing : climbing + 10]).max() < 1.0
    assert np.abs(bank).max() > 9.0


def test_the_seed_decides_and_a_longer_flight_begins_alike():
    def bank(minutes, seed):
        return degrees(
            flown(leg("rough", bank_sd_deg=3), leg("straight", minutes=minutes), seed=seed), "bank_rad"
        )

    np.testing.assert_array_equal(bank(5, 1), bank(5, 1))
    assert np.abs(bank(5, 1) - bank(5, 2)).max() > 2.0
    assert np.abs(bank(5, 1)[300:2500] - bank(40, 1)[300:2500]).max() < 0.3
