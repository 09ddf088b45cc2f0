"""The time until a limit is passed, against the plain double loop."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lubberline.simulation.heading_indicator.settings import first_passing_s, interval


def plain(time_s: np.ndarray, error: np.ndarray, straight: np.ndarray, limit: float) -> list[float]:
    waits = []
    for i in range(len(error)):
        if not straight[i]:
            waits.append(np.nan)
            continue
        later = [j for j in range(i + 1, len(error)) if straight[j] and abs(error[j] - error[i]) > limit]
        waits.append(time_s[later[0]] - time_s[i] if later else np.inf)
    return waits


@given(seed=st.integers(0, 10_000), count=st.integers(2, 400), limit=st.floats(0.5, 6.0))
def test_as_the_plain_double_loop(seed: int, count: int, limit: float) -> None:
    draw = np.random.default_rng(seed)
    time_s = np.arange(count, dtype=float)
    error = np.cumsum(draw.normal(0.0, 0.4, count))
    straight = draw.random(count) < 0.8
    found = first_passing_s(time_s, error, straight, limit)
    np.testing.assert_array_equal(found, plain(time_s, error, straight, limit))


def test_never_is_said_as_nan() -> None:
    time_s = np.arange(100.0)
    found = interval(time_s, 0.0 * time_s, np.ones(100, dtype=bool), 3.0)
    assert np.isnan(found.shortest_min)


@given(seed=st.integers(0, 10_000), slope=st.floats(0.005, 0.2))
def test_the_interval_is_the_least_and_the_middle_of_all_waits(seed: int, slope: float) -> None:
    """Waits that the flight cuts short count as longer than all others, as in the docstring."""
    draw = np.random.default_rng(seed)
    time_s = np.arange(401.0)
    error = slope * time_s + np.cumsum(draw.normal(0.0, 0.2, 401))
    straight = draw.random(401) < 0.9
    waits = [wait for wait in plain(time_s, error, straight, 3.0) if not np.isnan(wait)]
    found = interval(time_s, error, straight, 3.0)
    if np.isinf(waits).all():
        assert np.isnan([found.shortest_min, found.median_min]).all()
        return
    below = sum(wait / 60.0 < found.median_min for wait in waits)
    assert found.shortest_min == min(waits) / 60.0
    if np.isnan(found.median_min):
        assert np.isinf(waits).sum() >= len(waits) / 2 - 1
    else:
        assert below <= len(waits) / 2
        assert sum(wait / 60.0 > found.median_min for wait in waits) <= len(waits) / 2
