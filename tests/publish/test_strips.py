"""Lines on a circle: led to the edge where they wrap, never drawn across."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from lubberline.publish.figures.strips import spread, strips_of, wrapped_line
from lubberline.simulation.flown import Columns

from .made_up import made_up_flown


def test_a_turn_through_north_leaves_at_the_top_and_comes_back_at_the_bottom():
    x, y = wrapped_line(np.array([0.0, 1.0]), np.array([350.0, 370.0]), 0.0)
    np.testing.assert_array_equal(x, [0.0, 0.5, np.nan, 0.5, 1.0])
    np.testing.assert_array_equal(y, [350.0, 360.0, np.nan, 0.0, 10.0])


def test_two_turns_between_two_rows_are_two_passes():
    x, y = wrapped_line(np.array([0.0, 8.0]), np.array([10.0, -710.0]), 0.0)
    assert np.count_nonzero(np.isnan(x)) == 2
    np.testing.assert_allclose(y[[0, 1, 3, 4, 6, 7]], [10.0, 0.0, 360.0, 0.0, 360.0, 10.0])


@given(
    arrays(np.float64, st.integers(2, 40), elements=st.floats(-900.0, 900.0)), st.sampled_from([0.0, 90.0])
)
def test_no_piece_jumps_and_all_stay_on_the_axis(heading, low):
    time = np.arange(len(heading), dtype=np.float64)
    x, y = wrapped_line(time, heading, low)
    finite = np.isfinite(y)
    assert np.all(y[finite] >= low - 1e-9)
    assert np.all(y[finite] <= low + 360.0 + 1e-9)
    joined = finite[1:] & finite[:-1]
    # What is drawn between two breaks never rises faster than the heading itself did.
    steepest = np.abs(np.diff(heading)).max()
    slope = np.abs(np.diff(y))[joined]
    assert np.all(slope <= steepest * np.abs(np.diff(x))[joined] + 1e-6)
    assert np.abs(np.diff(y))[joined].sum() == pytest.approx(np.abs(np.diff(heading)).sum(), abs=1e-6)


@given(st.lists(st.floats(-50.0, 400.0), min_size=1, max_size=8))
def test_labels_keep_their_order_and_their_distance(wanted):
    placed = spread(wanted, 20.0, 0.0, 300.0)
    order = np.argsort(wanted, kind="stable")
    heights = np.array(placed)[order]
    assert np.all(np.diff(heights) >= 20.0 - 1e-9)
    assert heights[0] >= 0.0
    assert heights[-1] <= 300.0


def test_strips_stand_only_for_what_the_aircraft_has():
    trace = dict(made_up_flown(minutes=5).trace)
    assert [s.title for s in strips_of(Columns(trace))] == [
        "Compass error",
        "Suction, inHg",
        "Rotor, thousand rpm",
    ]
    nothing = np.full(len(trace["time_s"]), np.nan)
    trace.update(gauge_inhg=nothing, instrument_suction_inhg=nothing, compass_error_deg=nothing)
    assert [s.title for s in strips_of(Columns(trace))] == ["Rotor, thousand rpm"]
