"""Time on the live bench goes back to the bit, and the tape played again is the same flight."""

import json
from typing import Any

import msgspec
import pytest

from lubberline.errors import InputError
from lubberline.simulation import bench as bench_module
from lubberline.simulation.bench import GREATEST_ROWS, Bench
from lubberline.simulation.live.orders import Order, order_in_json
from tests.simulation.alike import differences
from tests.simulation.bench_runs import DIRTY, ROUNDING_DEG, busy, give, scene, wait


def test_rewinding_gives_the_same_state_to_the_bit() -> None:
    bench = Bench(scene(DIRTY))
    marks = {}
    original = bench.give

    def marking(order: object) -> str:
        # what is at a time is what was there before anything was done at it
        marks.setdefault(bench.time_s, bench.state)
        return original(order)  # type: ignore[arg-type]

    bench.give = marking  # type: ignore[method-assign, assignment]
    busy(bench)
    end = bench.state
    assert len(marks) > 6
    for time_s, state in sorted(marks.items(), reverse=True):
        bench.rewind(time_s)
        assert differences(state, bench.state) == []
    bench.rewind(0.0)
    bench.advance(end.step)
    assert differences(end, bench.state) == []


def as_fields(order: Order | None) -> dict[str, Any]:
    """The plain fields of an order, without what is as usual."""
    fields: dict[str, Any] = msgspec.to_builtins(order)
    usual = {entry.encode_name: entry.default for entry in msgspec.structs.fields(type(order))}
    return {name: value for name, value in fields.items() if name == "do" or usual[name] != value}


def test_the_tape_played_again_gives_the_same_frames() -> None:
    first = Bench(scene(DIRTY))
    busy(first)
    second = Bench(scene(DIRTY))
    for taped in first.tape:
        second.advance(taped.step - second.state.step)
        second.give(order_in_json(json.dumps(as_fields(taped.order))))
    second.advance(first.state.step - second.state.step)
    assert second.frame() == first.frame()


@pytest.mark.parametrize("stride", [1, 7, 333])
def test_it_does_not_matter_how_time_is_divided(stride: int) -> None:
    # so fast that the field is looked up again on the way
    whole, parts = Bench(scene(DIRTY, speed_kt=600.0)), Bench(scene(DIRTY, speed_kt=600.0))
    for bench in (whole, parts):
        give(bench, do="rough", level="severe")
        give(bench, do="bank", to_deg=40)
    whole.advance(1000)
    for _ in range(1000 // stride):
        parts.advance(stride)
    parts.advance(1000 - parts.state.step)
    assert differences(whole.state, parts.state) == []


def test_after_going_back_the_tape_plays_on_until_something_new_is_done() -> None:
    bench = Bench(scene())
    wait(bench, 10.0)
    give(bench, do="bank", to_deg=30)
    wait(bench, 20.0)
    end = bench.state
    bench.rewind(5.0)
    wait(bench, 25.0)
    assert differences(end, bench.state) == []
    bench.rewind(5.0)
    give(bench, do="climb", to_fpm=500)
    wait(bench, 25.0)
    assert bench.frame()["truth"]["bank_deg"] == 0.0
    with pytest.raises(InputError, match="not been reached"):
        bench.rewind(1000.0)


def test_kept_states_are_thinned_and_one_can_still_go_back_to_the_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(bench_module, "GREATEST_KEPT", 12)
    bench = Bench(scene())
    start = bench.state
    wait(bench, 600.0)
    mark = bench.state
    wait(bench, 300.0)
    assert len(bench._kept) <= 12
    bench.rewind(600.0)
    assert differences(mark, bench.state) == []
    bench.rewind(0.0)
    assert differences(start, bench.state) == []


def test_a_tape_too_long_forgets_its_beginning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_module, "GREATEST_TAPE", 20)
    bench = Bench(scene())
    for number in range(60):
        give(bench, do="bank", to_deg=number % 30)
        wait(bench, 5.0)
    end = bench.state
    assert len(bench.tape) <= 21
    assert bench.earliest_s > 0.0
    with pytest.raises(InputError, match="no longer saved"):
        bench.rewind(0.0)
    bench.rewind(bench.earliest_s)
    bench.advance(end.step - bench.state.step)
    assert differences(end, bench.state) == []


def test_a_slider_that_is_dragged_leaves_one_order_a_step() -> None:
    bench = Bench(scene())
    for bank in range(30):
        give(bench, do="bank", to_deg=bank)
    assert len(bench.tape) == 1
    wait(bench, 10.0)
    assert bench.frame()["truth"]["bank_deg"] == pytest.approx(29.0, abs=0.01)


def test_the_history_is_bounded_and_goes_back_with_time() -> None:
    bench = Bench(scene())
    bench.advance(30_000)
    rows = bench.history.rows
    assert 250 < len(rows) <= GREATEST_ROWS
    times = [row["time_s"] for row in rows]
    assert times == sorted(times)
    assert times[-1] > 2990.0
    last = rows[-1]
    assert last["total_deg"] == pytest.approx(last["error_deg"], abs=ROUNDING_DEG)
    bench.rewind(1000.0)
    assert bench.history.rows[-1]["time_s"] <= 1000.0
