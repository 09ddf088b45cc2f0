"""Flights of any length for the benchmarks: a hold in light rough air, and a recorded track of one."""

from tests.flight.synthetic_tracks import as_csv, flight, rate_one_bank_deg, recorded

HEAD = """title = "A hold of {hours:g} h"
start_utc = 2026-06-21T09:00:00Z
latitude_deg = 45.0
longitude_deg = 1.0
altitude_ft = 3500
heading_deg = 45
airspeed_kt = 100
wind_from_deg = 310
wind_kt = 10
seed = 45

[[leg]]
kind = "set"
from = "compass"

[[leg]]
kind = "rough"
level = "light"
"""
HALF_A_LAP = """
[[leg]]
kind = "turn"
by_deg = 180
rate_deg_s = 3

[[leg]]
kind = "straight"
minutes = 2
"""
# A turn of a minute and its rolls, and two minutes straight.
HALF_A_LAP_S = 184.0
SPEED_KT = 100.0


def hold_toml(hours: float) -> str:
    """A legs file of about so many hours: turns at rate one, two minutes a side."""
    return HEAD.format(hours=hours) + HALF_A_LAP * round(hours * 3600.0 / HALF_A_LAP_S)


def track_csv(hours: float, every_s: float = 5.0) -> str:
    """A recorded track of so many hours: fixes with noise, in whole knots and degrees, half of it turns."""
    bank = rate_one_bank_deg(SPEED_KT)
    lap = [(0.0, 180.0), (bank, 120.0), (0.0, 120.0), (-bank, 60.0), (0.0, 120.0)]
    laps = round(hours * 3600.0 / sum(seconds for _, seconds in lap))
    truth = flight(SPEED_KT, lap * laps)
    return as_csv(recorded(truth, every_s, speed_and_track=True, seed=7))
