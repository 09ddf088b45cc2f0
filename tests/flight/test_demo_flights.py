"""The demo flights are what their table says: believable, of an hour or two, and in both hemispheres."""

from pathlib import Path

import numpy as np
import pytest

from lubberline.flight.flights import read_flight
from lubberline.units import KT_MPS

DEMO = Path(__file__).parents[2] / "demo"
FLIGHTS = sorted((DEMO / "flights").glob("*.toml"))
LONG = [path for path in FLIGHTS if path.stem != "short_circuit"]


def test_the_readme_names_every_file():
    text = (DEMO / "README.md").read_text(encoding="utf-8")
    assert len(LONG) == 4
    for path in [*FLIGHTS, *(DEMO / "aircraft").glob("*.toml")]:
        assert f"`{path.parent.name}/{path.name}`" in text


@pytest.mark.parametrize("path", LONG, ids=lambda path: path.stem)
def test_a_flight_takes_an_hour_or_two_and_is_set_about_every_quarter_of_an_hour(path):
    motion = read_flight(path)
    assert 60.0 < motion.duration_s / 60.0 < 120.0
    assert motion.start_utc.year == 2026
    times = [event.time_s for event in motion.events if event.kind == "set"]
    assert max(np.diff([*times, motion.duration_s])) < 20.0 * 60.0
    samples = motion.samples
    for time_s in times:
        now = samples[round(time_s / 0.1)]
        # Set in straight flight; rough air may rock it.
        assert abs(np.degrees(now["bank_rad"])) < 15.0
    cruise = samples["airspeed_mps"][len(samples) // 2] / KT_MPS
    assert 100.0 <= cruise <= 120.0
    assert np.degrees(np.abs(samples["bank_rad"])).max() < 50.0
    assert samples["altitude_m"].max() - samples["altitude_m"].min() > 900.0
    assert any("Rough air" in note for note in motion.notes)


def test_the_flights_have_the_latitudes_and_directions_of_their_names():
    def ends(stem):
        samples = read_flight(DEMO / "flights" / f"{stem}.toml").samples[[0, -1]]
        return np.degrees(samples["latitude_rad"]), np.degrees(samples["longitude_rad"])

    latitude, longitude = ends("eastbound_60n")
    assert np.abs(latitude - 60.0).max() < 0.5
    assert longitude[1] - longitude[0] > 5.0
    latitude, longitude = ends("northbound_equator")
    assert latitude[0] < -3.0
    assert abs(latitude[1]) < 0.1
    latitude, longitude = ends("westbound_35s")
    assert np.abs(latitude + 35.0).max() < 0.5
    assert longitude[1] - longitude[0] < -2.0
    latitude, longitude = ends("hold_45n")
    assert np.abs(latitude - 45.0).max() < 0.3


def test_the_short_circuit_is_short_and_comes_home():
    motion = read_flight(DEMO / "flights" / "short_circuit.toml")
    assert motion.duration_s < 600.0
    assert motion.samples["altitude_m"][-1] == pytest.approx(motion.samples["altitude_m"][0])
    assert motion.samples["airspeed_mps"][-1] == 0.0
