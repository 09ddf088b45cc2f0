"""The stacked bands against the ledger they are made of."""

import numpy as np
import pytest

from lubberline.publish.figures.axes import setting_rows
from lubberline.publish.figures.bands import REST, stack_of
from lubberline.publish.figures.ledger_plot import range_deg
from lubberline.publish.figures.svg import kept_rows

from .made_up import made_up_flown

FLIGHTS = {
    "plain": {},
    "settings": {"settings_s": [0.0, 1500.0, 3900.0]},
    "tumble": {"minutes": 70.0, "settings_s": [0.0, 3300.0], "tumble_deg": -412.0},
    "tiny": {"scale": 0.02, "turns": False},
    "short": {"minutes": 5.0},
    "long": {"minutes": 360.0, "settings_s": [1080.0 * k for k in range(20)], "latitude_deg": -78.0},
}


@pytest.mark.parametrize("name", FLIGHTS)
def test_bands_add_up_to_the_total_at_every_row_drawn(name):
    flown = made_up_flown(**FLIGHTS[name])
    stack = stack_of(flown.ledger, setting_rows(flown))
    above, below = stack.edges_deg(1.0)[1], stack.edges_deg(-1.0)[1]
    total = flown.ledger["total_deg"][stack.rows]
    np.testing.assert_allclose(above[-1] + below[-1], total, atol=1e-9)
    np.testing.assert_allclose(stack.values_deg.sum(axis=0), total, atol=1e-9)


@pytest.mark.parametrize("name", FLIGHTS)
def test_few_points_but_every_extreme(name):
    flown = made_up_flown(**FLIGHTS[name])
    restarts = setting_rows(flown)
    stack = stack_of(flown.ledger, restarts)
    assert len(stack.rows) <= 1500 + 2 * len(restarts)
    total = flown.ledger["total_deg"]
    assert stack.total_deg.max() == total.max()
    assert stack.total_deg.min() == total.min()
    assert {0, len(total) - 1} <= set(stack.rows.tolist())


def test_bands_restart_at_settings():
    flown = made_up_flown(settings_s=[0.0, 1500.0, 3900.0])
    stack = stack_of(flown.ledger, setting_rows(flown))
    assert len(stack.pieces) == 3
    ends = [(stack.time_s[piece][0], stack.time_s[piece][-1]) for piece in stack.pieces]
    assert ends == [(0.0, 1499.0), (1500.0, 3899.0), (3900.0, 7200.0)]
    assert sum(piece.stop - piece.start for piece in stack.pieces) == len(stack.rows)


def test_both_sides_of_a_setting_are_drawn_whatever_else_happens():
    flown = made_up_flown()
    ledger = dict(flown.ledger)
    rough = np.random.default_rng(4).normal(size=len(ledger["time_s"]))
    ledger["geometry_deg"], ledger["total_deg"] = rough, ledger["total_deg"] - ledger["geometry_deg"] + rough
    restarts = [k * 333 for k in range(1, 21)]
    rows = set(stack_of(type(flown.ledger)(ledger), restarts).rows.tolist())
    assert {row for restart in restarts for row in (restart - 1, restart)} <= rows


def test_causes_too_small_to_see_are_summed_not_dropped():
    flown = made_up_flown(turns=False)
    ledger = dict(flown.ledger)
    tiny = np.full(len(ledger["time_s"]), 0.004)
    ledger["levelling_deg"], ledger["set_misreading_deg"] = tiny, tiny
    stack = stack_of(type(flown.ledger)(ledger))
    assert REST in stack.causes
    assert "set_misreading_deg" not in stack.causes
    np.testing.assert_allclose(stack.values_deg[stack.causes.index(REST)], 0.008)


def test_the_tumble_is_outermost_and_cut_while_the_rest_keeps_its_scale():
    calm = made_up_flown(minutes=70.0, settings_s=[0.0, 3300.0])
    tumbled = made_up_flown(minutes=70.0, settings_s=[0.0, 3300.0], tumble_deg=-412.0)
    stack = stack_of(tumbled.ledger, setting_rows(tumbled))
    assert stack.causes[-1] == "tumble_deg"
    np.testing.assert_allclose(range_deg(stack), range_deg(stack_of(calm.ledger)), rtol=0.02)


def test_a_stopped_rotor_sets_no_scale_and_hides_no_cause():
    calm = made_up_flown(turns=False)
    ledger = dict(calm.ledger)
    ran_off = -np.where(ledger["time_s"] > 3600.0, ledger["time_s"] - 3600.0, 0.0)
    ledger["friction_deg"] = ledger["friction_deg"] + ran_off
    ledger["total_deg"] = ledger["total_deg"] + ran_off
    stack = stack_of(type(calm.ledger)(ledger))
    low, high = range_deg(stack)
    assert -60.0 < low < -10.0
    assert 3.4 <= high < 60.0
    assert {"earth_deg", "balance_deg"} <= set(stack.causes)


def test_a_setting_far_wrong_from_the_start_stays_on_the_scale():
    calm = made_up_flown(turns=False)
    ledger = dict(calm.ledger)
    ledger["set_misreading_deg"] = np.full(len(ledger["time_s"]), 90.0)
    ledger["total_deg"] = ledger["total_deg"] + 90.0
    assert range_deg(stack_of(type(calm.ledger)(ledger)))[1] > 90.0


def test_a_small_error_looks_small_beside_the_limit():
    low, high = range_deg(stack_of(made_up_flown(scale=0.02, turns=False).ledger))
    assert low < -3.0
    assert high > 3.0


def test_rows_kept_hold_the_extremes_of_every_signal_and_of_gaps():
    rng = np.random.default_rng(3)
    signals = rng.normal(size=(3, 20_000))
    signals[0, :500] = np.nan
    rows = kept_rows(tuple(signals), must=[777, 19_998])
    assert len(rows) <= 1502
    assert {777, 19_998, 0, 19_999} <= set(rows.tolist())
    assert np.all(np.diff(rows) > 0)
    for signal in signals:
        assert np.nanmax(signal[rows]) == np.nanmax(signal)
        assert np.nanmin(signal[rows]) == np.nanmin(signal)
