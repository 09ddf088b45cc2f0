"""Attitude from a path: no side force whatever it does, with climb, pull and turn together."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lubberline.flight.coordinated import Path, coordinated
from lubberline.flight.motion import STEP_S
from lubberline.units import STANDARD_GRAVITY_MPS2


@given(
    turn_deg_s=st.floats(-6.0, 6.0),
    climb_deg=st.floats(-15.0, 15.0),
    pull_deg_s=st.floats(-1.0, 1.0),
    north_wind_mps=st.floats(-15.0, 15.0),
)
def test_the_body_feels_no_side_force(turn_deg_s, climb_deg, pull_deg_s, north_wind_mps):
    """The definition of coordinated flight: apparent gravity lies in the plane of symmetry."""
    time_s = np.arange(200) * STEP_S
    heading = math.radians(30.0) + np.radians(turn_deg_s) * time_s
    climb = np.radians(climb_deg + pull_deg_s * (time_s - 10.0))
    turn, pull, speed = math.radians(turn_deg_s), math.radians(pull_deg_s), 60.0
    level, sink = speed * np.cos(climb), -speed * np.sin(climb)
    less = -speed * np.sin(climb) * pull
    path = Path(
        north_mps=level * np.cos(heading) + north_wind_mps,
        east_mps=level * np.sin(heading),
        down_mps=sink,
        north_mps2=less * np.cos(heading) - level * np.sin(heading) * turn,
        east_mps2=less * np.sin(heading) + level * np.cos(heading) * turn,
        down_mps2=-speed * np.cos(climb) * pull,
        wind_north_mps=north_wind_mps,
        wind_east_mps=0.0,
    )
    found = coordinated(path)
    np.testing.assert_allclose(found.heading_rad, heading, atol=1e-9)
    np.testing.assert_allclose(found.pitch_rad, climb, atol=1e-9)
    sh, ch = np.sin(found.heading_rad), np.cos(found.heading_rad)
    sp, sb, cb = np.sin(found.pitch_rad), np.sin(found.bank_rad), np.cos(found.bank_rad)
    wing = np.stack((sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * np.cos(found.pitch_rad)))
    force = np.stack((path.north_mps2, path.east_mps2, path.down_mps2 - STANDARD_GRAVITY_MPS2))
    np.testing.assert_allclose((wing * force).sum(axis=0), 0.0, atol=1e-6)
