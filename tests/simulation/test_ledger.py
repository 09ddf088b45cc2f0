"""The ledger closes at every row, and each of its columns is needed for that."""

import numpy as np
import pytest

from lubberline import fly
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.flown import LEDGER_COLUMNS, Flown
from lubberline.simulation.misconceptions import FLOWN
from tests.flights import SET, STRAIGHT, TURN, busy, legs

AIRCRAFT = aircraft_from_text(
    "test",
    """
name = "test aircraft"
[heading_indicator]
real_wander_deg_15min = 2.0
balance_latitude_deg = 30.0
[compass]
deviation_a_deg = 1.0
deviation_b_deg = 4.0
deviation_c_deg = -3.0
[[fault]]
name = "pump"
size = 1.0
at_min = 8
""",
)
CAUSES = LEDGER_COLUMNS[1:-1]


def gap_deg(flown: Flown, total: np.ndarray) -> float:
    apart = (total - flown.trace.heading_error_deg + 180.0) % 360.0 - 180.0
    return float(np.max(np.abs(apart)))


@pytest.fixture(scope="module")
def flown() -> Flown:
    """A flight in which every cause has its say, the tumble included."""
    return fly(busy(), AIRCRAFT, set_every_min=7.0)


def test_sum_is_the_error_at_every_row(flown: Flown) -> None:
    assert gap_deg(flown, flown.ledger.total_deg) < 0.01
    assert gap_deg(flown, sum(flown.ledger[name] for name in CAUSES)) < 0.01


@pytest.mark.parametrize("cause", CAUSES)
def test_sum_fails_without_any_one_column(flown: Flown, cause: str) -> None:
    without = flown.ledger.total_deg - flown.ledger[cause]
    assert gap_deg(flown, without) > 0.01, f"{cause} is not needed"


@pytest.mark.parametrize("true_reference", [False, True])
@pytest.mark.parametrize("setting", ["turns_card", "turns_gimbal"])
@pytest.mark.parametrize("drive", ["suction", "pressure", "electric"])
def test_sum_holds_for_every_kind_of_instrument(true_reference: bool, setting: str, drive: str) -> None:
    aircraft = aircraft_from_text("test", f'[heading_indicator]\nsetting="{setting}"\ndrive="{drive}"')
    found = fly(busy(), aircraft, true_reference=true_reference, seed=4)
    assert gap_deg(found, found.ledger.total_deg) < 0.01
    if true_reference:
        assert not found.ledger.variation_change_deg.any()


def test_sum_holds_under_every_wrong_idea() -> None:
    """Where the card tumbles and is caged: `test_misconceptions.test_its_ledger_closes`."""
    motion = legs(
        TURN.format(90, 30),
        SET.format("compass") + "; misreading_deg = 2",
        STRAIGHT.format(2),
        'kind = "accelerate"; to_kt = 140; at_g = 0.08',
        SET.format("compass"),
        STRAIGHT.format(2),
        latitude_deg=58.0,
        heading_deg=2.0,
    )
    flown = fly(motion, AIRCRAFT, believe=[idea.id for idea in FLOWN])
    assert len(flown.believed) == len(FLOWN)
    for idea, believed in zip(FLOWN, flown.believed, strict=True):
        apart = believed.ledger["total_deg"] - believed.trace["heading_error_deg"]
        assert np.max(np.abs((apart + 180.0) % 360.0 - 180.0)) < 0.01, idea.id


def test_setting_columns_say_what_was_wrong_when_it_was_set(flown: Flown) -> None:
    for entry in flown.summary["settings"]:
        parts = ("deviation_deg", "turning_deg", "acceleration_deg", "misreading_deg")
        apart = sum(entry[part] for part in parts) - entry["error_deg"]
        assert abs((apart + 180.0) % 360.0 - 180.0) < 0.05
    in_turn = [e for e in flown.summary["settings"] if e["why"] == "flight"]
    assert in_turn[0]["misreading_deg"] == 2.0


def test_signs() -> None:
    """North: the Earth's column falls, and falls faster eastbound; a northern balance rises."""
    aircraft = aircraft_from_text(
        "t", "[heading_indicator]\nrandom_wander_deg_15min=0\nbalance_latitude_deg=45"
    )
    for latitude, sign in ((50.0, -1.0), (-50.0, 1.0)):
        found = fly(legs(STRAIGHT.format(15), latitude_deg=latitude), aircraft)
        assert sign * found.ledger.earth_deg[-1] > 2.5
        assert sign * found.ledger.travel_deg[-1] > 0.4
        assert found.ledger.balance_deg[-1] > 2.0


def test_steady_deviation_enters_the_compass_error_with_a_minus() -> None:
    aircraft = aircraft_from_text("t", "[compass]\ndeviation_a_deg = 5")
    found = fly(legs(STRAIGHT.format(3)), aircraft)
    assert found.trace.compass_error_deg[-1] == pytest.approx(-5.0, abs=0.1)
    assert found.compass_ledger.deviation_deg[-1] == pytest.approx(-5.0, abs=1e-6)
    found = fly(legs(STRAIGHT.format(2), SET.format("compass"), STRAIGHT.format(2)), aircraft)
    assert found.ledger.set_deviation_deg[-1] == pytest.approx(-5.0, abs=1e-6)
    assert found.ledger.total_deg[130] == pytest.approx(-5.0, abs=0.2)


def test_the_magnetic_heading_is_the_true_one_less_variation_east_positive() -> None:
    """Common practice, no source; at 65 N 20 W the variation is west, of 8 deg and more."""
    trace = fly(legs(STRAIGHT.format(1), latitude_deg=65.0, longitude_deg=-20.0, heading_deg=90.0)).trace
    assert (trace.variation_deg < -8.0).all()
    np.testing.assert_allclose(trace.true_heading_deg - trace.variation_deg, trace.magnetic_heading_deg)


def test_variation_change_is_variation_now_less_variation_at_setting() -> None:
    found = fly(legs(STRAIGHT.format(40), latitude_deg=65.0, longitude_deg=-20.0))
    change = found.trace.variation_deg[-1] - found.trace.variation_deg[0]
    assert abs(change) > 0.2
    assert found.ledger.variation_change_deg[-1] == pytest.approx(change, abs=1e-6)


def test_compass_ledger_sums_to_the_compass_error() -> None:
    found = fly(busy(), AIRCRAFT)
    apart = found.compass_ledger.total_deg - found.trace.compass_error_deg
    assert np.max(np.abs((apart + 180.0) % 360.0 - 180.0)) < 1e-6


def test_setting_it_in_a_turn_books_the_turn() -> None:
    found = fly(
        legs(
            STRAIGHT.format(1),
            TURN.format(180, 20),
            SET.format("compass"),
            STRAIGHT.format(2),
            heading_deg=0.0,
            latitude_deg=55.0,
        )
    )
    assert abs(found.ledger.set_turning_deg[-1]) > 3.0
