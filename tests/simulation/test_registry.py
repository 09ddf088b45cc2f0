"""An instrument that lives in the tests alone is flown, accounted for, broken and believed otherwise."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from lubberline.errors import InputError
from lubberline.publish.reports.tables import write_all
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import in_order, instruments
from lubberline.simulation.flown import TRACE_COLUMNS, Flown
from lubberline.simulation.flying import fly
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.orders import order_of
from lubberline.simulation.misconceptions import FLOWN, flown_idea
from lubberline.simulation.scenes import scene_from_text, state_address, state_toml
from tests.flights import legs
from tests.load_needle import NO_LOAD, registered

TURN = 'kind = "turn"; by_deg = 1080; bank_deg = 60'
AIRCRAFT = "[load_needle]\nlag_s = 2.0"
MENDED = 'kind = "fault"; name = "sticking"; size = 0'


@pytest.fixture(scope="module", autouse=True)
def needle() -> Iterator[None]:
    with registered():
        yield


@pytest.fixture(scope="module")
def flown() -> Flown:
    motion = legs(TURN, MENDED, TURN)
    faults = ["sticking=0.4@0.5"]
    return fly(motion, aircraft_from_text("t", AIRCRAFT), believe=[NO_LOAD.id], faults=faults)


def test_each_stands_after_those_it_needs() -> None:
    assert [*instruments()] == ["heading_indicator", "suction", "compass", "load_needle"]
    names = [each.name for each in in_order()]
    for each in in_order():
        assert all(names.index(name) < names.index(each.name) for name in each.instrument.needs)


def test_it_has_a_column_of_the_trace_before_the_last(flown: Flown) -> None:
    assert [*flown.trace] == [*TRACE_COLUMNS[:-1], "load_needle_g", "event"]


def test_it_shows_the_load_of_the_turn_late_and_short_where_it_sticks(flown: Flown) -> None:
    """Load factor 1 / cos(60 deg) = 2 (FAA-H-8083-25, chapter 5; from memory)."""
    time_s, shown = flown.trace["time_s"], flown.trace["load_needle_g"]
    assert shown[time_s == 25.0] == pytest.approx(2.0, abs=0.02)
    assert shown[time_s == 45.0] == pytest.approx(1.6, abs=0.02)
    assert shown[time_s == 100.0] == pytest.approx(2.0, abs=0.02)
    told = [words for words in flown.trace["event"].tolist() if "sticking" in words]
    assert told == ["fault sticking=0.4", "fault sticking=0"]


def test_its_ledger_closes(flown: Flown) -> None:
    ledger = flown.ledgers["load_needle"]
    assert [*ledger] == ["time_s", "lag_g", "sticking_g", "total_g"]
    load = 1.0 / np.cos(np.radians(flown.trace["bank_deg"]))
    steady = (flown.trace["bank_deg"] > 59.0) & (flown.trace["time_s"] > 20.0)
    error = flown.trace["load_needle_g"] - load
    np.testing.assert_allclose(ledger["total_g"][steady], error[steady], atol=0.02)
    assert np.ptp(ledger["lag_g"]) > 0.2
    assert ledger["sticking_g"][flown.trace["time_s"] < 29.0].max() == 0.0


def test_somebody_who_believes_in_no_load_sees_one_g(flown: Flown) -> None:
    (believed,) = flown.believed
    np.testing.assert_allclose(believed.trace["load_needle_g"], 1.0, atol=1e-9)
    np.testing.assert_array_equal(
        believed.trace["indicated_heading_deg"], flown.trace["indicated_heading_deg"]
    )
    assert NO_LOAD in FLOWN
    assert flown_idea(NO_LOAD.id) is NO_LOAD


def test_its_ledger_is_written_beside_the_others(flown: Flown, tmp_path: Path) -> None:
    names = {path.name for path in write_all(flown, tmp_path)}
    assert {"ledger.csv", "compass_ledger.csv", "load_needle_ledger.csv"} <= names


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[load_needle]\nlag_s = -1.0", "load_needle.lag_s"),
        ("[load_needle]\nlag = 1.0", "lag_s"),
        ('[[fault]]\nname = "sticking"\nsize = 2.0', "from 0 to 1"),
        ('[[fault]]\nname = "stiking"', "sticking"),
    ],
)
def test_its_part_of_an_aircraft_file_is_checked(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        aircraft_from_text("t", text)


def test_on_the_bench_it_is_flown_broken_and_believed_otherwise() -> None:
    bench = Bench()
    for order in (
        {"do": "bank", "to_deg": 60},
        {"do": "ghost", "id": NO_LOAD.id, "on": True},
        {"do": "aircraft", "needle_lag_s": 2.0},
        {"do": "fault", "name": "sticking", "size": 0.4},
    ):
        bench.give(order_of(order, "t"))
    bench.advance(250)
    frame = bench.frame()
    assert frame["shown"]["load_needle_g"] == pytest.approx(1.6, abs=0.01)
    assert frame["ledgers"]["load_needle"]["sticking_g"] == pytest.approx(-0.4, abs=0.01)
    assert [ghost["load_needle_g"] for ghost in frame["ghosts"]] == [1.0]
    assert frame["faults"] == {"sticking": 0.4}
    assert bench.history.rows[-1]["load_needle_g"] == pytest.approx(1.6, abs=0.01)


def test_its_state_is_kept_in_an_address_and_in_a_scene() -> None:
    bench = Bench(scene_at("1_needlelag2_sticking0.4_ghost-turns-weigh-nothing"))
    assert bench.state.carried[0].fitted["load_needle"].lag_s == 2.0
    assert state_address(bench) == "1_needlelag2_sticking0.4_ghost-turns-weigh-nothing"
    again = Bench(scene_from_text("t", state_toml(bench)))
    assert again.frame()["faults"] == {"sticking": 0.4}
    assert state_address(again) == state_address(bench)
