"""Files of a flight: what stands in them, that they are whole, and how fast they are written."""

import csv
import io
import json
import stat
import time

import numpy as np
import pytest

from lubberline.errors import InputError
from lubberline.publish.reports import tables
from lubberline.publish.reports.tables import csv_text, json_text, write_all
from lubberline.simulation.flown import LEDGER_COLUMNS, TRACE_COLUMNS, Columns

from .made_up import made_up_flown

FILES = {"trace.csv", "ledger.csv", "compass_ledger.csv", "summary.json", "figure.svg", "report.pdf"}


def names_in(folder):
    return {path.name for path in folder.iterdir()}


def test_csv_is_read_back_by_the_standard_library_within_its_decimals():
    """The reader is Python's own csv module, which follows RFC 4180's quoting."""
    flown = made_up_flown(minutes=10, events=((60.0, 'set, "by hand"'),))
    rows = list(csv.DictReader(io.StringIO(csv_text(flown.trace), newline="")))
    assert tuple(rows[0]) == TRACE_COLUMNS
    assert len(rows) == flown.trace.row_count
    for name in TRACE_COLUMNS:
        if name == "event":
            assert [row[name] for row in rows] == flown.trace["event"].tolist()
            continue
        read = np.array([float(row[name]) for row in rows])
        half_digit = 0.5 * 10.0 ** -tables.decimals_of(name) + 1e-9
        assert np.max(np.abs(read - flown.trace[name])) <= half_digit, name


def test_units_have_fixed_decimals_and_rows_end_in_a_newline_only():
    columns = Columns(
        {
            "time_s": np.array([0.0, 1.0]),
            "latitude_deg": np.array([52.123456789, -0.0]),
            "heading_error_deg": np.array([-0.0001, 1.23456]),
            "groundspeed_kt": np.array([99.96, np.nan]),
            "rotor_rpm": np.array([12345.6, 0.4]),
            "gauge_inhg": np.array([4.987, np.nan]),
            "on_stop": np.array([True, False]),
            "event": np.array(["", 'a "b", c']),
        }
    )
    assert csv_text(columns) == (
        "time_s,latitude_deg,heading_error_deg,groundspeed_kt,rotor_rpm,gauge_inhg,on_stop,event\n"
        "0.0,52.123457,0.000,100.0,12346,4.99,1,\n"
        '1.0,0.000000,1.235,,0,,0,"a ""b"", c"\n'
    )


def test_rounding_keeps_directions_below_360_and_errors_above_minus_180():
    columns = Columns(
        {
            "indicated_heading_deg": np.array([359.9997]),
            "compass_deg": np.array([359.9999]),
            "track_deg": np.array([359.994]),
            "heading_error_deg": np.array([-179.9999]),
            "earth_deg": np.array([360.0]),
        }
    )
    assert csv_text(columns).splitlines()[1] == "0.000,0.000,359.994,180.000,360.000"


def test_a_two_hour_trace_takes_under_120_ms_of_processor():
    flown = made_up_flown(minutes=120)
    assert flown.trace.row_count > 7200
    best = min(_timed(lambda: csv_text(flown.trace)) for _ in range(5))
    assert best < 0.12


def _timed(work):
    begin = time.process_time()
    work()
    return time.process_time() - begin


def test_summary_json_refuses_what_json_has_not():
    with pytest.raises(ValueError, match="JSON"):
        json_text({"worst_error_deg": float("nan")})


def test_write_all_writes_every_file(tmp_path):
    flown = made_up_flown(minutes=20, believed=("fifteen_everywhere",), title="Über die Förde")
    ensemble = Columns({"time_s": np.arange(2.0), "error_p05_deg": np.array([-1.0, -2.0])})
    folder = tmp_path / "deep" / "out"
    written = write_all(flown, folder, ensemble=ensemble)
    extra = {"believed_fifteen_everywhere.csv", "believed_fifteen_everywhere_ledger.csv", "ensemble.csv"}
    assert {path.name for path in written} == FILES | extra == names_in(folder)
    assert names_in(folder.parent) == {"out"}
    assert json.loads((folder / "summary.json").read_text(encoding="utf-8"))["title"] == "Über die Förde"
    assert (folder / "ledger.csv").read_text().startswith(",".join(LEDGER_COLUMNS) + "\n")
    assert (folder / "report.pdf").read_bytes().startswith(b"%PDF")
    assert "<svg" in (folder / "figure.svg").read_text(encoding="utf-8")
    assert stat.S_IMODE(folder.stat().st_mode) & 0o500 == 0o500


def test_write_all_is_all_or_nothing(tmp_path, monkeypatch):
    flown = made_up_flown(minutes=5)

    def broken(*_):
        raise RuntimeError("the report fails")

    monkeypatch.setattr("lubberline.publish.reports.report.report_pdf", broken)
    with pytest.raises(RuntimeError):
        write_all(flown, tmp_path / "out")
    assert not list(tmp_path.iterdir())


def test_a_second_flight_removes_the_first_ones_believed_traces_and_nothing_else(tmp_path):
    ensemble = Columns({"time_s": np.arange(2.0), "error_p05_deg": np.array([-1.0, -2.0])})
    write_all(made_up_flown(minutes=5, believed=("old",)), tmp_path, ensemble=ensemble)
    (tmp_path / "believed_by_me.csv").write_text("my own notes\n")
    (tmp_path / "notes.txt").write_text("mine")
    write_all(made_up_flown(minutes=5), tmp_path)
    assert names_in(tmp_path) == FILES | {"believed_by_me.csv", "notes.txt"}


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(InputError, match="is a file; give a folder"):
        write_all(made_up_flown(minutes=5), tmp_path / "out")
