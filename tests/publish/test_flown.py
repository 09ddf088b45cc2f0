"""What the engine hands over is what the figure and the files need."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from lubberline import fly
from lubberline.publish.figures.axes import marks_of, setting_rows
from lubberline.publish.figures.bands import stack_of
from lubberline.publish.figures.facts import drift_rows
from lubberline.publish.reports.tables import write_all
from lubberline.simulation.flown import LEDGER_COLUMNS, TRACE_COLUMNS

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def flown():
    flight, aircraft = DEMO / "flights/short_circuit.toml", DEMO / "aircraft/zz_elm.toml"
    return fly(str(flight), str(aircraft), seed=3, faults=["pump=1@4"], believe=["add-east-variation"])


def test_a_real_flights_files_agree_with_its_columns(flown, tmp_path):
    names = {path.name for path in write_all(flown, tmp_path)}
    assert {"believed_add-east-variation.csv", "believed_add-east-variation_ledger.csv"} < names
    for name, header in (("trace.csv", TRACE_COLUMNS), ("ledger.csv", LEDGER_COLUMNS)):
        with (tmp_path / name).open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        assert tuple(rows[0]) == header
        assert len(rows) == flown.trace.row_count + 1
    assert json.loads((tmp_path / "summary.json").read_text(encoding="utf-8")) == flown.summary


def test_a_real_ledgers_bands_add_up_and_restart_where_it_was_set(flown):
    stack = stack_of(flown.ledger, setting_rows(flown))
    np.testing.assert_allclose(stack.values_deg.sum(axis=0), stack.total_deg, atol=1e-9)
    set_at = [entry["time_s"] for entry in flown.summary["settings"]]
    starts = [float(stack.time_s[piece][0]) for piece in stack.pieces]
    assert len(starts) == len(set_at)
    np.testing.assert_allclose(starts, set_at, atol=1.0)
    # The first row of each piece is as wrong as the setting left it, but for a second of drift.
    for piece, entry in zip(stack.pieces, flown.summary["settings"], strict=True):
        assert stack.total_deg[piece][0] == pytest.approx(entry["error_deg"], abs=0.2)


def test_settings_and_faults_of_a_real_flight_are_marked(flown):
    marks = marks_of(flown)
    assert [mark.time_s for mark in marks if mark.label == "fault: pump 1"] == [240.0]
    assert sum(mark.kind == "set" for mark in marks) == len(flown.summary["settings"])


def test_the_drift_shown_is_the_summarys_its_total_last(flown):
    rows = drift_rows(flown.summary)
    assert rows[-1] == ("total", flown.summary["drift_deg_15min"]["total_deg"])
    assert sum(value for _, value in rows[:-1]) == pytest.approx(rows[-1][1], abs=0.3)
