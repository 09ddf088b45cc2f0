"""The door: what a flight comes to, and what is refused."""

import copy
import pickle

import numpy as np
import pytest

from lubberline import InputError, fly
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.flown import COMPASS_LEDGER_COLUMNS, LEDGER_COLUMNS, TRACE_COLUMNS
from lubberline.simulation.flying import parse_fault
from tests.flights import STRAIGHT, busy, legs

PERFECT = aircraft_from_text("t", "[heading_indicator]\nrandom_wander_deg_15min = 0.0")


def test_columns_are_those_promised() -> None:
    flown = fly(legs(STRAIGHT.format(1)))
    assert tuple(flown.trace) == TRACE_COLUMNS
    assert tuple(flown.ledger) == LEDGER_COLUMNS
    assert tuple(flown.compass_ledger) == COMPASS_LEDGER_COLUMNS
    lengths = {len(column) for table in (flown.trace, flown.ledger) for column in table.values()}
    assert lengths == {61}


def test_headings_and_errors_stay_in_their_ranges() -> None:
    trace = fly(busy()).trace
    for name in (
        "true_heading_deg",
        "magnetic_heading_deg",
        "indicated_heading_deg",
        "compass_deg",
        "track_deg",
    ):
        assert np.all((trace[name] >= 0.0) & (trace[name] < 360.0)), name
    for name in ("heading_error_deg", "compass_error_deg"):
        assert np.all((trace[name] > -180.0) & (trace[name] <= 180.0)), name


def test_same_seed_same_flight_and_other_seed_another() -> None:
    first, again, other = (fly(busy(), seed=seed).trace.heading_error_deg for seed in (3, 3, 4))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_a_flight_without_settings_is_set_once_rightly_at_its_start() -> None:
    flown = fly(legs(STRAIGHT.format(2)))
    assert flown.trace.event[0] == "set at the start"
    assert flown.trace.heading_error_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert sum(event != "" for event in flown.trace.event) == 1


def test_a_setting_by_interval_waits_for_straight_flight() -> None:
    """Due at 5 min in a turn of 3 deg/s from 4.5 to 6.5 min: made 20 s after the wings are level."""
    flown = fly(
        legs(STRAIGHT.format(4.5), 'kind = "turn"\nby_deg = 360\nrate_deg_s = 3.0', STRAIGHT.format(6)),
        set_every_min=5.0,
    )
    trace = flown.trace
    set_s = [t for t, event in zip(trace.time_s, trace.event, strict=True) if event.startswith("set")]
    level_s = trace.time_s[np.flatnonzero(np.abs(trace.bank_deg) > 5.0)[-1]]
    assert len(set_s) == 3
    assert set_s[1] == pytest.approx(level_s + 20.0, abs=2.0)
    assert set_s[2] == pytest.approx(600.0, abs=1.0)


def test_every_setting_fault_and_cage_is_marked() -> None:
    flown = fly(
        legs(STRAIGHT.format(3), 'kind = "cage"', STRAIGHT.format(1), 'kind = "uncage"', STRAIGHT.format(4)),
        faults=["pump=1@2"],
        set_every_min=5.0,
    )
    events = [event for event in flown.trace.event if event]
    assert events == ["set at the start", "fault pump=1", "caged", "uncaged", "set from compass"]
    assert flown.trace.caged[200]
    assert not flown.trace.caged[300]


def test_interval_until_three_degrees_by_hand() -> None:
    """At 60 N standing still a perfect instrument takes 3 / 13.03 h = 13.8 min, whenever it is set."""
    flown = fly(legs('kind = "wait"; minutes = 40', latitude_deg=60.0, airspeed_kt=0.0), PERFECT)
    found = flown.summary["interval_3deg_min"]
    assert found["shortest"] == pytest.approx(13.82, abs=0.1)
    assert found["median"] == pytest.approx(13.82, abs=0.1)
    assert flown.summary["interval_5deg_min"]["shortest"] == pytest.approx(23.03, abs=0.2)
    assert flown.summary["drift_deg_15min"]["earth_deg"] == pytest.approx(-3.2565, abs=0.01)
    assert "3 deg" in flown.summary["sentence"]


def test_interval_counts_on_over_settings() -> None:
    still = legs('kind = "wait"; minutes = 40', latitude_deg=60.0, airspeed_kt=0.0)
    often = fly(still, PERFECT, set_every_min=5.0).summary["interval_3deg_min"]
    assert often["shortest"] == pytest.approx(13.82, abs=0.1)


def test_faults_show_in_what_the_pilot_sees() -> None:
    flown = fly(legs(STRAIGHT.format(25)), PERFECT, faults=["pump=1@5"])
    assert flown.trace.gauge_inhg[200] == pytest.approx(5.0, abs=0.3)
    assert flown.trace.gauge_inhg[400] == pytest.approx(0.0, abs=0.1)
    assert flown.trace.rotor_rpm[-1] < 0.2 * flown.trace.rotor_rpm[0]


def test_believed_trace_runs_beside_the_truth() -> None:
    flown = fly(legs(STRAIGHT.format(20), latitude_deg=0.5), PERFECT, believe=["same-wander-everywhere"])
    believed = flown.believed[0]
    assert believed.ledger["earth_deg"][-1] == pytest.approx(-15.041 / 3.0, abs=0.02)
    assert abs(flown.ledger.earth_deg[-1]) < 0.1


@pytest.mark.parametrize(
    ("keywords", "where"),
    [
        ({"faults": ["engine@3"]}, "--fault"),
        ({"faults": ["pump=7@3"]}, "--fault"),
        ({"faults": ["pump"]}, "--fault"),
        ({"faults": ["pump=.1.@3"]}, "--fault"),
        ({"wind": "240"}, "--wind"),
        ({"wind": "240/10"}, "--wind"),
        ({"wind": "400/10"}, "--wind"),
        ({"believe": ["nonsense"]}, "--believe"),
        ({"set_every_min": 0.0}, "--set-every"),
        ({"set_every_min": float("nan")}, "--set-every"),
        ({"set_from": "guess"}, "--set-from"),
        ({"seed": -1}, "--seed"),
    ],
)
def test_bad_options_are_refused_by_name(keywords: dict, where: str) -> None:
    with pytest.raises(InputError) as caught:
        fly(legs(STRAIGHT.format(1)), **keywords)
    assert caught.value.where == where
    assert caught.value.right


def test_fault_is_read_as_written() -> None:
    event = parse_fault("filter=0.8@20")
    assert (event.name, event.size, event.time_s) == ("filter", 0.8, 1200.0)


def test_default_aircraft_is_healthy() -> None:
    assert Aircraft().fault == ()


def test_a_stopped_rotor_is_said_in_the_sentence() -> None:
    flown = fly(legs(STRAIGHT.format(30)), PERFECT, faults=["pump=1@1"])
    assert "too slow to hold a direction" in flown.summary["sentence"]
    drift = flown.summary["drift_deg_15min"]
    assert abs(drift["total_deg"]) < 30.0
    assert drift["earth_deg"] == pytest.approx(-2.66, abs=0.02)


def test_columns_can_be_copied_and_pickled_and_name_what_is_missing() -> None:
    trace = fly(legs(STRAIGHT.format(1))).trace
    again = pickle.loads(pickle.dumps(copy.copy(trace)))
    assert np.array_equal(again.true_heading_deg, trace.true_heading_deg)
    with pytest.raises(AttributeError, match="time_s"):
        _ = trace.nonsense


def test_worn_bearings_slow_the_rotor_and_multiply_real_wander() -> None:
    """Drift of a worn instrument is that of the torque risen 2.5 times on a rotor slower by its drag."""
    wandering = aircraft_from_text(
        "t", "[heading_indicator]\nreal_wander_deg_15min = 2.0\nrandom_wander_deg_15min = 0.0"
    )
    straight = legs(STRAIGHT.format(15), latitude_deg=0.0)
    healthy, worn = fly(straight, wandering), fly(straight, wandering, faults=["bearings=1@0"])
    slower = np.mean(1.0 / worn.trace.rotor_rpm) / np.mean(1.0 / healthy.trace.rotor_rpm)
    assert slower > 1.02
    ratio = worn.ledger.friction_deg[-1] / healthy.ledger.friction_deg[-1]
    assert ratio == pytest.approx(2.5 * slower, rel=0.02)
