"""Every wrong idea is another model that runs, and is told in words with a source.

Closed forms beside the changed laws are ours, from the statement; the right law's source is the idea's own.
"""

import importlib.util
import math
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lubberline import InputError, fly
from lubberline.instruments.compass.card import CompassLaws
from lubberline.instruments.heading_indicator.gyro import GyroLaws
from lubberline.instruments.instrument import PHYSICS, Laws
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.flown import MEASURES, Flown, measured, trace_of
from lubberline.simulation.flying import prepare_flight
from lubberline.simulation.heading_indicator.ledger import cards_of, ledger_of
from lubberline.simulation.misconceptions import (
    ALL,
    BY_ID,
    CAUSAL,
    FLOWN,
    QUANTITIES,
    STRUCTURAL,
    VERBAL,
    Causal,
    Misconception,
    Physical,
    Structural,
    Verbal,
    flown_idea,
    misconception,
)
from lubberline.simulation.misconceptions.idea import PRACTICE
from lubberline.simulation.panel import ROW_EVERY, Panel, Readings, read
from lubberline.simulation.scenes import library
from lubberline.simulation.symptoms import Sight, believed_sight, sight
from tests.flights import SET, STRAIGHT, TURN, busy, legs

Floats = NDArray[np.float64]

SUCTION = aircraft_from_text(
    "t",
    """
[heading_indicator]
real_wander_deg_15min = 2.0
random_wander_deg_15min = 0.0
balance_latitude_deg = 45.0
[compass]
deviation_a_deg = 1.0
deviation_b_deg = 4.0
deviation_c_deg = -3.0
[[fault]]
name = "pump"
size = 0.85
""",
)
ELECTRIC = aircraft_from_text(
    "t", '[heading_indicator]\ndrive = "electric"\nsetting = "turns_gimbal"\nrandom_wander_deg_15min = 0.0'
)
AIR_FAULTS = ("", "pump", "regulator", "filter", "leak", "bearings")
TAPS = ("cabin", "instruments")


def names(ideas: tuple[Misconception, ...]) -> list[str]:
    return [idea.id for idea in ideas]


def aviating() -> Iterator[tuple]:
    """Three flights: of turns in the south, of a still engine on the ground, of a card thrown and caged."""
    yield (
        legs(
            STRAIGHT.format(6),
            TURN.format(200, 25),
            SET.format("compass"),
            TURN.format(75, 25),
            'kind = "accelerate"; to_kt = 150; at_g = 0.08',
            SET.format("compass"),
            STRAIGHT.format(22),
            latitude_deg=-60.0,
            heading_deg=130.0,
        ),
        SUCTION,
    )
    yield (
        legs('kind = "wait"; minutes = 12; engine_rpm = 0', latitude_deg=60.0, airspeed_kt=0.0),
        ELECTRIC,
    )
    yield (
        legs(
            # Within 5 deg of the axis, which the knob leaves under the card's zero: magnetic north.
            'kind = "upset"; pitch_deg = 89; rate_deg_s = 30; hold_seconds = 2',
            STRAIGHT.format(1),
            SET.format("truth"),
            TURN.format(40, 40),
            'kind = "upset"; pitch_deg = 40; rate_deg_s = 15; hold_seconds = 4',
            STRAIGHT.format(1),
            'kind = "cage"',
            TURN.format(30, 20),
            'kind = "uncage"',
            STRAIGHT.format(1),
            latitude_deg=50.0,
            heading_deg=5.0,
        ),
        ELECTRIC,
    )


PHYSICS_OF = {name: value for each in (GyroLaws(), CompassLaws()) for name, value in each._asdict().items()}


@cache
def prepared() -> list[tuple]:
    return [prepare_flight(motion, aircraft) for motion, aircraft in aviating()]


@cache
def readings_of(laws: Laws) -> list[Readings]:
    return [read(panel, actions, laws, 0) for panel, actions in prepared()]


def shown(laws: Laws) -> Floats:
    """Card and compass at every second of all flights, deg, end to end."""
    parts = []
    for readings in readings_of(laws):
        parts += [np.degrees(cards_of(readings).rows["indicated_rad"])]
        parts += [np.degrees(readings.of["compass"]["reading_rad"][::ROW_EVERY])]
    return np.concatenate(parts)


def gap_deg(panel: Panel, readings: Readings, laws: Laws) -> float:
    """By how much the ledger's sum misses the error, at the worst."""
    total = ledger_of(panel, readings, laws)["total_deg"]
    return apart_deg(total, trace_of(panel, readings)["heading_error_deg"])


def apart_deg(first: Floats, second: Floats) -> float:
    return float(np.max(np.abs((first - second + 180.0) % 360.0 - 180.0)))


def test_there_are_enough_of_each_kind() -> None:
    assert len(ALL) == len(FLOWN) + len(CAUSAL) + len(VERBAL) + len(STRUCTURAL) == len(BY_ID) >= 40
    assert len(FLOWN) >= 25
    assert len(CAUSAL) >= 8
    assert len(VERBAL) >= 8


def test_texts_are_there_and_say_different_things() -> None:
    for idea in ALL:
        for text in (idea.statement, idea.mend):
            assert len(text) > 15, idea.id
            assert text[0].isupper(), idea.id
            assert text.endswith("."), idea.id
            assert "!" not in text, idea.id
        assert idea.source
        assert "source" not in idea.source or idea.source == PRACTICE
    assert len({idea.statement for idea in ALL}) == len({idea.mend for idea in ALL}) == len(ALL)


def test_every_scene_named_is_in_the_library() -> None:
    named = {idea.scene for idea in ALL} - {""}
    assert len(named) > 5
    assert named <= set(library())


def test_every_change_names_a_law_and_differs_from_physics() -> None:
    for idea in FLOWN:
        assert idea.change
        for name, value in idea.change.items():
            assert PHYSICS_OF[name] != value


def test_every_law_is_somebodys_wrong_idea() -> None:
    assert {name for idea in FLOWN for name in idea.change} == set(PHYSICS_OF)


@pytest.mark.parametrize("idea", FLOWN, ids=names(FLOWN))
def test_it_can_be_told_from_the_truth(idea: Physical) -> None:
    assert apart_deg(shown(idea.laws), shown(PHYSICS)) > 0.3


def test_no_two_show_the_same() -> None:
    for first, second in combinations(FLOWN, 2):
        assert apart_deg(shown(first.laws), shown(second.laws)) > 0.05, (first.id, second.id)


@pytest.mark.parametrize("idea", FLOWN, ids=names(FLOWN))
def test_its_ledger_closes(idea: Physical) -> None:
    for (panel, _), readings in zip(prepared(), readings_of(idea.laws), strict=True):
        assert gap_deg(panel, readings, idea.laws) < 0.01


@pytest.mark.parametrize("setting", ["turns_card", "turns_gimbal"])
@pytest.mark.parametrize(
    "id", ["bank-leaves-card-alone", "pitch-leaves-card-alone", "bank-error-by-quadrant"]
)
def test_a_card_set_in_a_bank_shows_what_it_was_set_to_as_believed(id: str, setting: str) -> None:
    aircraft = aircraft_from_text(
        "t", f'[heading_indicator]\nspin_axis_deg = 25.0\ndrive = "electric"\nsetting = "{setting}"'
    )
    panel, actions = prepare_flight(
        legs(TURN.format(720, 50), TURN.format(720, 50)), aircraft, set_every_min=0.5, set_from="truth"
    )
    laws = flown_idea(id).laws
    readings = read(panel, actions, laws, 0)
    bank_deg = np.degrees(panel.motion.samples["bank_rad"][[action.index for action in actions]])
    assert np.count_nonzero(bank_deg > 45.0) >= 2
    assert gap_deg(panel, readings, laws) < 0.01


def last_deg(id: str, column: str, motion, aircraft=ELECTRIC) -> float:
    """The ledger's last row as somebody with an idea has it."""
    return float(fly(motion, aircraft, believe=[id]).believed[0].ledger[column][-1])


def hour(latitude_deg: float, heading_deg: float = 90.0, knots: float = 120.0):
    return legs(STRAIGHT.format(6), latitude_deg=latitude_deg, heading_deg=heading_deg, airspeed_kt=knots)


@pytest.mark.parametrize(
    ("id", "latitude_deg", "expected_deg_h"),
    [
        ("same-wander-everywhere", 5.0, -15.041),
        ("no-wander-at-poles", 60.0, -15.041 * 0.5),
        ("wander-straight-with-latitude", 45.0, -15.041 * 0.5),
        ("wander-straight-with-latitude", -30.0, 15.041 / 3.0),
        ("falls-in-both-hemispheres", -30.0, -15.041 * 0.5),
        ("rises-in-the-north", 30.0, 15.041 * 0.5),
        ("no-earth-wander", 70.0, 0.0),
        ("no-drift-when-parked", 30.0, -15.041 * 0.5),
    ],
)
def test_the_earth_as_believed(id: str, latitude_deg: float, expected_deg_h: float) -> None:
    """Flying north at 60 kt for 6 min moves the latitude by 0.1 deg."""
    found = last_deg(id, "earth_deg", hour(latitude_deg, 0.0, 60.0))
    assert 10.0 * found == pytest.approx(expected_deg_h, abs=0.08)


def test_a_parked_gyro_rests_as_believed() -> None:
    parked = legs('kind = "wait"; minutes = 6', latitude_deg=60.0, airspeed_kt=0.0)
    assert last_deg("no-drift-when-parked", "earth_deg", parked) == pytest.approx(0.0, abs=0.01)
    assert last_deg("no-earth-wander", "earth_deg", parked) == pytest.approx(0.0, abs=0.01)
    assert fly(parked, ELECTRIC).ledger["earth_deg"][-1] == pytest.approx(-1.303, abs=0.005)


@pytest.mark.parametrize(
    ("id", "latitude_deg", "heading_deg", "expected_deg_h"),
    [
        # One minute of arc a nautical mile: 120 kt is 2 deg/h, times the tangent as believed.
        ("journey-adds-nothing", 60.0, 90.0, 0.0),
        ("journey-the-other-way", 60.0, 90.0, 2.0 * math.sqrt(3.0)),
        ("journey-same-at-every-latitude", 60.0, 90.0, -2.0),
        ("journey-same-at-every-latitude", -60.0, 90.0, 2.0),
        ("journey-north-counts", 60.0, 0.0, -2.0 * math.sqrt(3.0)),
        ("journey-north-counts", 60.0, 90.0, -2.0 * math.sqrt(3.0)),
    ],
)
def test_the_journey_as_believed(
    id: str, latitude_deg: float, heading_deg: float, expected_deg_h: float
) -> None:
    found = last_deg(id, "travel_deg", hour(latitude_deg, heading_deg))
    assert 10.0 * found == pytest.approx(expected_deg_h, abs=0.03)


def test_a_drag_of_two_in_a_hundred_turns_leaves_so_much_behind() -> None:
    turn = legs(STRAIGHT.format(1), TURN.format(300, 20), STRAIGHT.format(1))
    assert last_deg("friction-drags-the-card-round", "believed_deg", turn) == pytest.approx(-6.0, abs=0.02)


def test_quadrant_error_goes_by_the_reading_and_not_by_the_axis() -> None:
    """At 40 deg of bank on a reading of 045: tan(card) = cos(bank) tan(45), with the axis 20 deg off."""
    aircraft = aircraft_from_text(
        "t", '[heading_indicator]\nspin_axis_deg = 25.0\nrandom_wander_deg_15min = 0.0\ndrive = "electric"'
    )
    believed = fly(
        legs(TURN.format(170, 40), heading_deg=0.0, latitude_deg=0.0, longitude_deg=-160.0),
        aircraft,
        believe=["bank-error-by-quadrant"],
        true_reference=True,
        set_from="truth",
    )
    trace, ledger = believed.believed[0].trace, believed.believed[0].ledger
    steady = np.abs(trace["bank_deg"] - 40.0) < 0.1
    level = np.radians(trace["true_heading_deg"] + ledger["total_deg"] - ledger["geometry_deg"])
    bank = np.radians(trace["bank_deg"])
    expected = np.degrees(np.arctan2(np.sin(level) * np.cos(bank), np.cos(level)))
    assert np.count_nonzero(steady) > 5
    # The jets tilt the axis by a degree or two in the turn, which the closed form leaves out.
    assert apart_deg(trace["indicated_heading_deg"][steady], expected[steady]) < 1.0
    assert apart_deg(believed.trace["indicated_heading_deg"][steady], expected[steady]) > 2.0


def test_a_compass_that_leads_by_the_latitude_does_so_at_two_banks() -> None:
    for bank_deg in (10.0, 30.0):
        turning = legs(TURN.format(400, bank_deg), latitude_deg=45.0, heading_deg=180.0)
        flown = fly(turning, SUCTION, believe=["compass-leads-by-the-latitude"])
        panel, actions = prepare_flight(turning, SUCTION)
        readings = read(panel, actions, flown_idea("compass-leads-by-the-latitude").laws, 0)
        magnetic = (flown.trace["magnetic_heading_deg"] + 180.0) % 360.0 - 180.0
        through_north = int(np.argmin(np.abs(magnetic)))
        turning_deg = np.degrees(readings.of["compass"]["turning_rad"][::ROW_EVERY])[through_north]
        assert abs(turning_deg) == pytest.approx(45.0, abs=3.0), bank_deg


def test_a_compass_that_swings_not_has_no_lag() -> None:
    at_once = readings_of(flown_idea("compass-needs-no-time").laws)[0].of["compass"]["lag_rad"]
    assert np.max(np.abs(at_once)) < 1e-9
    assert np.max(np.abs(readings_of(PHYSICS)[0].of["compass"]["lag_rad"])) > 0.05


def test_exchanged_errors_are_found_on_the_other_headings() -> None:
    """Speeding up on north swings the believer's card and not the true one; on east the other way about."""
    for heading_deg, true_is_large in ((90.0, True), (0.0, False)):
        speeding = legs(
            'kind = "accelerate"; to_kt = 150; at_g = 0.1', latitude_deg=50.0, heading_deg=heading_deg
        )
        panel, actions = prepare_flight(speeding)
        laws = flown_idea("compass-errors-exchanged").laws
        truth, belief = (
            np.degrees(np.max(np.abs(read(panel, actions, each, 0).of["compass"]["acceleration_rad"])))
            for each in (PHYSICS, laws)
        )
        assert (truth > 5.0) == true_is_large
        assert (belief > 5.0) != true_is_large


def test_only_physical_ones_fly() -> None:
    for idea in (CAUSAL[0], VERBAL[0], STRUCTURAL[0]):
        assert misconception(idea.id) is idea
        with pytest.raises(InputError, match="cannot be flown"):
            fly(legs(STRAIGHT.format(1)), believe=[idea.id])
    with pytest.raises(InputError, match="no wrong idea"):
        misconception("nonsense")


@pytest.mark.parametrize("idea", CAUSAL, ids=names(CAUSAL))
def test_a_causal_idea_expects_other_sights(idea: Causal) -> None:
    """By more than a reader would overlook: a twentieth, and a tenth of an inch at a gauge."""
    changed = 0
    for rule in idea.rules:
        assert set(rule.fields) <= set(Sight._fields)
        assert set(rule.faults) <= set(AIR_FAULTS)
    for fault in AIR_FAULTS:
        for tap in TAPS:
            really, believed = sight(fault, None, tap), believed_sight(idea, fault, None, tap)
            for name, true, wrong in zip(Sight._fields, really, believed, strict=True):
                limit = 0.1 if name.endswith("inhg") else 0.05 * true
                changed += abs(wrong - true) > limit
    assert changed > 0


def test_no_two_causal_ideas_expect_the_same() -> None:
    seen = {
        idea.id: [believed_sight(idea, fault, None, tap) for fault in AIR_FAULTS for tap in TAPS]
        for idea in CAUSAL
    }
    for first, second in combinations(seen, 2):
        assert seen[first] != seen[second], (first, second)


def test_causal_ideas_by_hand() -> None:
    """Believed sights are other real ones, so each is found again where its statement says."""
    filter_, healthy = sight("filter"), sight()
    low = believed_sight(BY_ID["clogged-filter-reads-low"], "filter")
    assert filter_.gauge_cruise_inhg > 4.5 > low.gauge_cruise_inhg
    fast = believed_sight(BY_ID["clogged-filter-speeds-the-rotor"], "filter", None, "instruments")
    assert fast.rotor_idle_rpm > 1.3 * healthy.rotor_idle_rpm > 1.3 * filter_.rotor_idle_rpm
    pump = believed_sight(BY_ID["weak-pump-shows-at-cruise"], "pump")
    assert pump.gauge_idle_inhg == healthy.gauge_idle_inhg
    assert pump.gauge_cruise_inhg == sight("pump").gauge_idle_inhg
    green = BY_ID["green-gauge-good-instrument"]
    assert believed_sight(green, "bearings") == healthy
    assert believed_sight(green, "regulator") == sight("regulator")
    assert believed_sight(green, "filter", None, "instruments") == sight("filter", None, "instruments")
    assert believed_sight(BY_ID["gyro-stops-with-the-pump"], "pump").run_down_min == 0.0
    worn = BY_ID["three-degrees-means-worn"]
    assert sight().seen_drift_deg_15min > 6.0 > 3.0 > believed_sight(worn).seen_drift_deg_15min


def test_a_causal_idea_keeps_the_faults_size() -> None:
    small = believed_sight(BY_ID["clogged-filter-reads-low"], "filter", 0.5)
    assert small.gauge_cruise_inhg == sight("filter", 0.5, "instruments").gauge_cruise_inhg
    assert small.rotor_cruise_rpm == sight("filter", 0.5).rotor_cruise_rpm


def test_every_quantity_is_defined_and_measured() -> None:
    assert set(QUANTITIES) == set(MEASURES)
    assert len({entry.term for entry in QUANTITIES.values()}) == len(QUANTITIES)
    assert len({entry.definition for entry in QUANTITIES.values()}) == len(QUANTITIES)
    with pytest.raises(InputError):
        measured("nonsense", fly(legs(STRAIGHT.format(1))))


@pytest.fixture(scope="module")
def flown() -> Flown:
    """A flight with a tumble, in a wind."""
    return fly(busy(), SUCTION)


@pytest.mark.parametrize("idea", VERBAL, ids=names(VERBAL))
def test_a_verbal_idea_means_another_quantity(idea: Verbal, flown: Flown) -> None:
    assert idea.term in QUANTITIES
    assert idea.taken_for in QUANTITIES
    assert idea.term != idea.taken_for
    meant, right = measured(idea.taken_for, flown), measured(idea.term, flown)
    assert len(meant) == len(right) == flown.trace.row_count
    assert apart_deg(meant, right) > 1.0


def test_the_kinds_are_named_by_their_classes() -> None:
    kinds = {Physical: "physical", Causal: "causal", Verbal: "verbal", Structural: "structural"}
    assert all(kinds[type(idea)] == idea.kind for idea in ALL)


def test_the_page_is_what_the_table_gives() -> None:
    root = Path(__file__).parents[2]
    place = root / "tools" / "write" / "misconceptions_page.py"
    spec = importlib.util.spec_from_file_location("misconceptions_page", place)
    assert spec is not None
    assert spec.loader is not None
    builder = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(builder)
    page = (root / "docs" / "methods" / "misconceptions.md").read_text(encoding="utf-8")
    assert page == builder.page(), "run: python tools/write/misconceptions_page.py"
    assert all(f"### `{idea.id}`" in page for idea in ALL)


def test_ghosts_have_short_names_of_their_own():
    names = [idea.name for idea in FLOWN]
    assert len(set(names)) == len(names)
    for name in names:
        # A letter alone is the letter of an option.
        assert 3 < len(name) <= 18, name
