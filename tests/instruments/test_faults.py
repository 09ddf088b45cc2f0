"""Names, sizes and messages of the faults, and their course along a flight."""

import math

import pytest

from lubberline.errors import InputError
from lubberline.flight.motion import FlightEvent
from lubberline.instruments.faults import FAULTS, HEALTHY, Faults, fault_segments, with_fault


def test_each_field_has_one_name_and_a_default_that_is_allowed() -> None:
    assert sorted(fault.field for fault in FAULTS.values()) == sorted(Faults._fields)
    for name, fault in FAULTS.items():
        changed = with_fault(HEALTHY, name)
        assert getattr(changed, fault.field) == fault.default_size > 0.0
        assert sum(value != 0.0 for value in changed) == 1
        assert with_fault(changed, name, 0.0) == HEALTHY


def test_faults_add_up() -> None:
    both = with_fault(with_fault(HEALTHY, "pump", 0.2), "filter", 0.5)
    assert both == Faults(pump_weak=0.2, filter_clogged=0.5)


def test_an_unknown_name_is_answered_with_the_nearest() -> None:
    with pytest.raises(InputError, match="no fault 'fliter'; did you mean 'filter'") as caught:
        with_fault(HEALTHY, "fliter", where="school.toml, line 3")
    assert caught.value.where == "school.toml, line 3"


@pytest.mark.parametrize("size", [-0.1, 1.01, math.inf, -math.inf])
def test_a_size_out_of_range_is_refused_with_the_range(size: float) -> None:
    with pytest.raises(InputError, match=r"'pump' cannot have size .*; give a size from 0 to 1 "):
        with_fault(HEALTHY, "pump", size)


def test_the_regulator_is_told_its_unit() -> None:
    with pytest.raises(InputError, match="size 6 inHg; give a size from 0 to 5 inHg"):
        with_fault(HEALTHY, "regulator", 6.0)


def test_segments_begin_with_the_first_sample_at_or_after_each_event() -> None:
    events = (
        FlightEvent(0.0, "fault", "bearings", 0.5),
        FlightEvent(5.0, "set"),
        FlightEvent(60.0, "fault", "pump"),
        FlightEvent(60.04, "fault", "filter", 0.9),
        FlightEvent(60.07, "fault", "leak", 0.1),
        FlightEvent(90.0, "fault", "pump", 0.0),
    )
    segments = fault_segments(Faults(supply_failing=0.1), events, 0.1)
    first = Faults(bearings_worn=0.5, supply_failing=0.1)
    weak = first._replace(pump_weak=FAULTS["pump"].default_size)
    leaking = weak._replace(filter_clogged=0.9, hose_leak=0.1)
    mended = leaking._replace(pump_weak=0.0)
    assert segments == [(0, first), (600, weak), (601, leaking), (900, mended)]


def test_a_fault_along_the_flight_that_does_not_exist_names_its_moment() -> None:
    with pytest.raises(InputError, match="fault at 12 s: there is no fault 'gremlin'"):
        fault_segments(HEALTHY, [FlightEvent(12.0, "fault", "gremlin")], 0.1)
