"""Scenes for the live bench, orders given to it, and whether its ledger closes."""

import pytest

from lubberline.flight.motion import STEP_S
from lubberline.simulation.bench import Bench
from lubberline.simulation.live.orders import order_of
from lubberline.simulation.live.scene import Scene, scene_of

# Short of a limit by more than rounding in a frame.
ROUNDING_DEG = 0.01


def scene(aircraft: dict | None = None, second: dict | None = None, **start: object) -> Scene:
    fields = {"id": "test", "title": "Test", "start": start}
    if aircraft is not None:
        fields["aircraft"] = aircraft
    if second is not None:
        fields["second"] = {"aircraft": second}
    return scene_of("test", fields)


def give(bench: Bench, **order: object) -> str:
    return bench.give(order_of(order, "test"))


def wait(bench: Bench, seconds: float) -> None:
    bench.advance(round(seconds / STEP_S))


def busy(bench: Bench) -> None:
    """Rough air, a turn, a setting in it, a fault, a ghost, a tumble, another place."""
    give(bench, do="rough", level="light")
    wait(bench, 7.3)
    give(bench, do="bank", to_deg=30)
    wait(bench, 14.9)
    give(bench, do="set", **{"from": "compass"})
    give(bench, do="ghost", id="no-earth-wander", on=True)
    wait(bench, 20.0)
    give(bench, do="fault", name="filter", size=0.9)
    give(bench, do="heading", to_deg=3)
    wait(bench, 31.7)
    give(bench, do="finger", torque_nm=0.001)
    wait(bench, 4.0)
    give(bench, do="finger", torque_nm=0)
    give(bench, do="place", latitude_deg=-35, longitude_deg=150)
    give(bench, do="pitch", to_deg=89)
    wait(bench, 7.0)
    give(bench, do="pitch", to_deg=0)
    give(bench, do="knob", by_deg=7)
    give(bench, do="engine", rpm=900)
    wait(bench, 25.5)


def closes(frame: dict) -> float:
    ledger = frame["ledger"]
    total = sum(value for name, value in ledger.items() if name != "total_deg")
    assert total == pytest.approx(ledger["total_deg"], abs=1e-3)
    return abs((ledger["total_deg"] - frame["shown"]["error_deg"] + 180.0) % 360.0 - 180.0)


DIRTY = {
    "heading_indicator": {
        "real_wander_deg_15min": 2.0,
        "random_wander_deg_15min": 1.5,
        "balance_latitude_deg": 50.0,
    },
    "compass": {"deviation_b_deg": 2.0, "deviation_c_deg": -1.5},
    "pilot": {"misreading_sd_deg": 1.5},
}
