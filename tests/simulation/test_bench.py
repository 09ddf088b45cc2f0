"""The live bench: the batch's own steps, a ledger that closes, and what the page orders."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from lubberline.earth.magnetic import field_at
from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S, FlightEvent, Motion
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading
from lubberline.instruments.heading_indicator.gyro import GyroLaws
from lubberline.simulation.aircraft import Aircraft, CompassEntry, HeadingIndicatorEntry
from lubberline.simulation.bench import Bench
from lubberline.simulation.flying import fly
from lubberline.simulation.heading_indicator import wander_along_nm
from lubberline.simulation.heading_indicator.ledger import account_now
from lubberline.simulation.live.orders import order_in_json
from lubberline.simulation.live.state import Stretch
from lubberline.simulation.live.view import between
from lubberline.units import DEG
from tests.simulation.bench_runs import DIRTY, ROUNDING_DEG, busy, closes, give, scene, wait

EARTH_DEG_H = 15.041067  # WGS 84, NGA.STND.0036


@pytest.mark.parametrize("knob", ["turns_card", "turns_gimbal"])
def test_the_ledger_closes_at_every_moment(knob: str) -> None:
    dirty = {**DIRTY, "heading_indicator": {**DIRTY["heading_indicator"], "setting": knob}}
    bench = Bench(scene(dirty, latitude_deg=57.0, heading_deg=2.0))
    worst = []
    original = bench.advance

    def looking(steps: int) -> None:
        for _ in range(steps // 23):
            original(23)
            worst.append(closes(bench.frame()))
        original(steps % 23)
        worst.append(closes(bench.frame()))

    bench.advance = looking  # type: ignore[method-assign, assignment]
    busy(bench)
    assert max(worst) < ROUNDING_DEG


def test_a_setting_in_a_turn_books_what_the_compass_was_wrong_by() -> None:
    bench = Bench(scene({"compass": {"deviation_b_deg": 3.0}}, latitude_deg=50.0))
    give(bench, do="bank", to_deg=20)
    wait(bench, 30.0)
    before = bench.frame()
    give(bench, do="set", **{"from": "compass"})
    after = bench.frame()
    ledger = after["ledger"]
    booked = ledger["set_deviation_deg"] + ledger["set_turning_deg"] + ledger["set_acceleration_deg"]
    assert booked == pytest.approx(before["shown"]["compass_error_deg"], abs=1e-3)
    assert after["shown"]["error_deg"] == pytest.approx(before["shown"]["compass_error_deg"], abs=1e-3)
    assert abs(ledger["set_turning_deg"]) > 5.0
    assert after["since_set_s"] == 0.0


def joined(stretches: list[Stretch], name: str) -> np.ndarray:
    parts = [getattr(way, name, way.rows.get(name)) for way in stretches]
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def test_a_live_session_is_the_batch_kernel_over_its_samples() -> None:
    """The same step functions: `fly_heading` over what was recorded gives the same card to the bit."""
    stretches: list[Stretch] = []
    bench = Bench(scene(DIRTY, latitude_deg=57.0), on_stretch=stretches.append)
    start = bench.state.carried[0].truth.held["heading_indicator"].state
    give(bench, do="rough", level="moderate")
    give(bench, do="bank", to_deg=-30)
    wait(bench, 65.0)
    give(bench, do="pitch", to_deg=92)
    wait(bench, 20.0)
    give(bench, do="pitch", to_deg=0)
    wait(bench, 100.0)
    samples, rows = joined(stretches, "samples"), joined(stretches, "heading_indicator")
    flown = np.zeros(len(samples), dtype=HEADING_ROW)
    none = np.zeros(0, dtype=HEADING_ROW)
    gyro = fly_heading(
        start,
        samples,
        joined(stretches, "suction"),
        wander_along_nm(bench.state.carried[0], 0, len(samples)),
        joined(stretches, "variation_rad"),
        np.zeros((0, 3)),
        STEP_S,
        1,
        bench.state.carried[0].fitted["heading_indicator"],
        GyroLaws(),
        flown,
        none,
        none,
    )
    assert tuple(gyro) == tuple(bench.state.carried[0].truth.held["heading_indicator"].state)
    for name in HEADING_ROW.names or ():
        if name != "on_stop":
            np.testing.assert_array_equal(flown[name], rows[name], err_msg=name)
    assert rows["on_stop"].any()


def test_a_live_session_shows_what_the_whole_engine_shows_of_its_flight() -> None:
    """Through the door of batch, with its own field, drive and compass: the same to a hundredth."""
    stretches: list[Stretch] = []
    start = {"latitude_deg": 57.0, "heading_deg": 40.0, "utc": datetime(2026, 7, 1).date()}
    bench = Bench(scene(DIRTY, **start), on_stretch=stretches.append)
    give(bench, do="heading", to_deg=310)
    wait(bench, 200.0)
    give(bench, do="fault", name="pump", size=0.9)
    wait(bench, 300.0)
    samples = joined(stretches, "samples")
    events = (FlightEvent(200.1, "fault", "pump", 0.9),)
    motion = Motion(samples, datetime(2026, 7, 1, tzinfo=UTC), "recorded", events)
    aircraft = bench.scene.aircraft[0]
    batch = fly(motion, aircraft)
    frame = bench.frame()
    assert batch.trace.indicated_heading_deg[-1] == pytest.approx(frame["shown"]["indicated_deg"], abs=0.01)
    assert batch.trace.heading_error_deg[-1] == pytest.approx(frame["shown"]["error_deg"], abs=0.01)
    assert batch.trace.compass_deg[-1] == pytest.approx(frame["shown"]["compass_deg"], abs=0.05)
    assert batch.trace.gauge_inhg[-1] == pytest.approx(frame["shown"]["gauge_inhg"], abs=0.01)
    assert batch.trace.rotor_rpm[-1] == pytest.approx(frame["shown"]["rotor_rpm"], abs=1.0)
    for cause in ("earth", "travel", "friction", "balance", "levelling", "variation_change"):
        live = frame["ledger"][f"{cause}_deg"]
        assert batch.ledger[f"{cause}_deg"][-1] == pytest.approx(live, abs=0.01), cause


@pytest.mark.parametrize("latitude_deg", [0.0, 45.0, 70.0, -35.0, 89.9])
def test_a_quarter_of_an_hour_of_the_earths_turning(latitude_deg: float) -> None:
    """Apparent wander 15.041 deg/h x sin(latitude), falling in the north: any text on gyroscopic theory."""
    still = scene(latitude_deg=latitude_deg, speed_kt=0.0)
    bench = Bench(still)
    give(bench, do="reference", true=True)
    wait(bench, 900.0)
    frame = bench.frame()
    expected = -EARTH_DEG_H * math.sin(latitude_deg * DEG) / 4.0
    assert frame["ledger"]["earth_deg"] == pytest.approx(expected, abs=0.02)
    assert frame["shown"]["error_deg"] == pytest.approx(expected, abs=0.03)
    assert frame["rates"]["earth_deg_h"] == pytest.approx(4.0 * expected, abs=0.1)


def test_a_finger_tilts_the_gyro_at_right_angles() -> None:
    """Precession = torque / momentum (any text on gyroscopes): the card stands, the housing tilts."""
    bench = Bench(scene(latitude_deg=0.0))
    before = bench.frame()
    give(bench, do="finger", torque_nm=0.0015)
    wait(bench, 2.0)
    frame = bench.frame()
    carried = bench.state.carried[0]
    rotor_rad_s = carried.shared["suction"].rows[-1]["rotor_rad_s"]
    momentum = carried.fitted["heading_indicator"].rotor_inertia_kgm2 * float(rotor_rad_s)
    expected_deg_h = -0.0015 / momentum / DEG * 3600.0
    assert frame["gyro"]["precession_tilt_deg_h"] == pytest.approx(expected_deg_h, rel=0.05)
    tilted = frame["gyro"]["tilt_deg"] - before["gyro"]["tilt_deg"]
    assert tilted == pytest.approx(expected_deg_h * 1.95 / 3600.0, rel=0.06)
    assert abs(frame["shown"]["indicated_deg"] - before["shown"]["indicated_deg"]) < 0.1
    assert frame["gyro"]["finger_nm"] == 0.0015


def test_past_the_stop_it_tumbles_and_says_so() -> None:
    """85 deg of pitch along the spin axis, no sooner."""
    bench = Bench(scene(heading_deg=0.0, latitude_deg=10.0))
    give(bench, do="pitch", to_deg=84)
    wait(bench, 5.0)
    assert not any("on its stop" in event.words for event in bench.events)
    assert bench.frame()["ledger"]["tumble_deg"] == 0.0
    bench.rewind(0.0)
    give(bench, do="pitch", to_deg=95)
    cards = []
    for _ in range(60):
        wait(bench, 0.1)
        cards.append(bench.frame()["shown"]["indicated_deg"])
    assert any("on its stop" in event.words for event in bench.events)
    # Half a turn and more within a second, as the rigid body does in the other tests.
    assert np.ptp(np.unwrap(cards, period=360.0)) > 150.0
    give(bench, do="pitch", to_deg=0)
    wait(bench, 10.0)
    frame = bench.frame()
    assert abs(frame["shown"]["error_deg"]) > 1.0
    assert abs(frame["ledger"]["tumble_deg"]) > 1.0
    assert closes(frame) < ROUNDING_DEG


def test_the_field_along_the_way_is_the_models() -> None:
    """Within 2 nT of the World Magnetic Model where the bench is, over 400 NM and a climb."""
    bench = Bench(scene(latitude_deg=60.0, longitude_deg=-20.0, heading_deg=60.0, speed_kt=400.0))
    give(bench, do="climb", to_fpm=900)
    worst = 0.0
    for _ in range(60):
        wait(bench, 61.3)
        here, found = bench.state.samples[1], bench.state.field[0]
        model = field_at(
            float(here["latitude_rad"]) / DEG,
            float(here["longitude_rad"]) / DEG,
            float(here["altitude_m"]),
            bench.state.decimal_year,
        )
        worst = max(worst, *(abs(found[name] - getattr(model, name)) for name in found.dtype.names))
    assert 0.0 < worst < 2.0


def test_a_ghost_goes_its_own_way_from_where_the_truth_is() -> None:
    bench = Bench(scene(latitude_deg=45.0))
    wait(bench, 60.0)
    give(bench, do="ghost", id="no-earth-wander", on=True)
    frame = bench.frame()
    assert frame["ghosts"][0]["indicated_deg"] == frame["shown"]["indicated_deg"]
    wait(bench, 900.0)
    frame = bench.frame()
    apart = frame["ghosts"][0]["indicated_deg"] - frame["shown"]["indicated_deg"]
    assert apart == pytest.approx(EARTH_DEG_H * math.sin(45 * DEG) / 4.0, abs=0.03)
    give(bench, do="ghost", id="no-earth-wander", on=False)
    assert bench.frame()["ghosts"] == []


def test_a_ghost_without_geometry_keeps_its_ledger_when_it_comes_in_a_bank() -> None:
    bench = Bench(scene(heading_deg=45.0))
    give(bench, do="bank", to_deg=40)
    wait(bench, 8.0)
    give(bench, do="ghost", id="bank-leaves-card-alone", on=True)
    wait(bench, 30.0)
    ghost = bench.state.carried[0].believers[1]
    held = ghost.held["heading_indicator"]
    ledger = account_now(held, ghost.laws, bench.time_s, bench.state.variation_rad, False)
    error = (float(held.rows[-1]["indicated_rad"]) - bench.state.reference_rad) / DEG
    assert abs((ledger["total_deg"] - error + 180.0) % 360.0 - 180.0) < ROUNDING_DEG


def test_two_aircraft_side_by_side_fly_one_flight() -> None:
    """The worn one drifts more: real wander goes with the wear of the bearings."""
    wander = {"heading_indicator": {"real_wander_deg_15min": 2.0}}
    worn = {**wander, "fault": [{"name": "bearings", "size": 1.0}]}
    bench = Bench(scene(wander, worn, latitude_deg=0.0))
    wait(bench, 600.0)
    frame = bench.frame()
    healthy, second = frame["ledger"]["friction_deg"], frame["second"]["ledger"]["friction_deg"]
    assert second > 2.0 * healthy > 0.0
    assert frame["second"]["faults"] == {"bearings": 1.0}
    assert frame["faults"] == {}
    assert closes({"ledger": frame["second"]["ledger"], "shown": frame["second"]["shown"]}) < ROUNDING_DEG
    give(bench, do="fault", name="pump", size=1.0, second=True)
    wait(bench, 60.0)
    frame = bench.frame()
    assert frame["second"]["shown"]["gauge_inhg"] < 0.1 < frame["shown"]["gauge_inhg"]


def test_other_instruments_start_anew_and_right() -> None:
    bench = Bench(scene(latitude_deg=-35.0))
    wait(bench, 300.0)
    give(bench, do="aircraft", latitude_balance_deg=45.0, deviation=[0, 2, 0, 0, 0])
    assert bench.frame()["shown"]["error_deg"] == pytest.approx(0.0, abs=1e-3)
    wait(bench, 900.0)
    # a balance for 45 N at 35 S: 15.04 (sin 45 + sin 35) deg/h, any text on gyroscopic theory; the rotor
    # here is faster than 12,000 rpm, so the balance's part is less by that
    frame = bench.frame()
    slower = 12000.0 / frame["shown"]["rotor_rpm"]
    expected = EARTH_DEG_H / 4.0 * (slower * math.sin(45 * DEG) + math.sin(35 * DEG))
    assert frame["ledger"]["balance_deg"] + frame["ledger"]["earth_deg"] == pytest.approx(expected, rel=0.02)
    give(bench, do="aircraft", drive="electric")
    wait(bench, 5.0)
    frame = bench.frame()
    assert frame["air"] is None
    assert frame["shown"]["gauge_inhg"] is None
    give(bench, do="aircraft", latitude_balance_deg=None)
    assert bench.state.carried[0].aircraft.heading_indicator.balance_latitude_deg is None


def test_taxiing_turns_follow_known_headings() -> None:
    bench = Bench(scene(on_ground=True, speed_kt=10.0, engine_rpm=1000.0, heading_deg=0.0))
    give(bench, do="heading", to_deg=90)
    wait(bench, 25.0)
    frame = bench.frame()
    assert frame["truth"]["bank_deg"] == 0.0
    assert frame["truth"]["heading_deg"] == pytest.approx(90.0, abs=0.01)
    assert frame["shown"]["error_deg"] == pytest.approx(0.0, abs=0.5)
    with pytest.raises(InputError, match="on the ground"):
        give(bench, do="bank", to_deg=10)
    give(bench, do="taxi", on=False)
    wait(bench, 60.0)
    assert bench.frame()["truth"]["airspeed_kt"] == pytest.approx(110.0, abs=0.1)


@pytest.mark.parametrize(
    ("text", "where", "wrong"),
    [
        ("[1]", "message", "not an order"),
        ("{", "message", "not JSON"),
        ('{"do": "fly"}', "message, do", "no order 'fly'"),
        ('{"do": "bank", "to_deg": 76}', "message, bank, to_deg", "<= 75"),
        ('{"do": "bank", "to_deg": "x"}', "message, bank, to_deg", "expected"),
        ('{"do": "bank"}', "message, bank, to_deg", "missing"),
        ('{"do": "bank", "to_deg": 3, "at": 1}', "message, bank, at", "unknown"),
        ('{"do": "fault", "name": "wing", "size": 1}', "message, fault", "no fault 'wing'"),
        ('{"do": "fault", "name": "filter", "size": 2}', "message, fault", "cannot have size 2"),
        ('{"do": "ghost", "id": "x", "on": true}', "message, id", "no wrong idea"),
        ('{"do": "set"}', "message, set", "only one source"),
        ('{"do": "set", "from": "compass", "to_deg": 3}', "message, set", "only one source"),
        ('{"do": "set", "from": "stars"}', "message, set, from", "invalid enum"),
        ('{"do": "place", "latitude_deg": 90, "longitude_deg": 0}', "message, place, latitude_deg", "89.9"),
        ('{"do": "pace", "factor": 601}', "message, pace, factor", "600"),
    ],
)
def test_a_wrong_order_is_refused_by_name(text: str, where: str, wrong: str) -> None:
    with pytest.raises(InputError) as caught:
        order_in_json(text)
    assert caught.value.where == where
    assert wrong.lower() in caught.value.wrong.lower()
    assert caught.value.right


def test_the_default_aircraft_has_nothing_by_chance() -> None:
    bench = Bench()
    assert bench.state.carried[0].aircraft.heading_indicator == HeadingIndicatorEntry(
        random_wander_deg_15min=0.0
    )
    assert bench.state.carried[0].aircraft.compass == CompassEntry()
    assert isinstance(bench.state.carried[0].aircraft, Aircraft)


def test_at_another_place_the_earth_and_the_field_are_those_of_there() -> None:
    bench = Bench(scene())
    wait(bench, 20.0)
    card = bench.frame()["shown"]["indicated_deg"]
    give(bench, do="place", latitude_deg=-35, longitude_deg=150)
    frame = bench.frame()
    model = field_at(-35.0, 150.0, 914.4, bench.state.decimal_year)
    assert frame["truth"]["latitude_deg"] == -35.0
    assert frame["truth"]["variation_deg"] == pytest.approx(model.variation_deg, abs=0.01)
    assert frame["shown"]["indicated_deg"] == card
    assert closes(frame) < ROUNDING_DEG
    # set at once from a compass that has not yet swung to the new north: booked all the same
    give(bench, do="set", **{"from": "compass"})
    assert abs(bench.frame()["shown"]["error_deg"]) > 5.0
    assert closes(bench.frame()) < ROUNDING_DEG
    wait(bench, 60.0)
    assert bench.frame()["rates"]["earth_deg_h"] == pytest.approx(EARTH_DEG_H * math.sin(35 * DEG), abs=0.1)
    assert abs(bench.frame()["shown"]["compass_error_deg"]) < 0.1


def test_between_two_frames_the_rotor_turns_on_and_headings_go_the_short_way() -> None:
    first = {"rotor_turns": 0.9, "heading_deg": 350.0}
    halfway = between(first, {"rotor_turns": 0.1, "heading_deg": 10.0}, 0.25)
    assert halfway == {"rotor_turns": 0.95, "heading_deg": 355.0}
