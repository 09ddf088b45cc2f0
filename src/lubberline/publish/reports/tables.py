"""A flight as files: columns as CSV, the summary as JSON, and all of a flight's files at once."""

import json
import math
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.csvfile import guarded
from lubberline.flight.home import NO_HOME, Home
from lubberline.publish.folder import Progress, write_together
from lubberline.simulation.flown import TRACE_COLUMNS, Columns, Flown

# Decimals by the end of a column's name; the first that fits counts.
DECIMALS = (
    ("latitude_deg", 6),
    ("longitude_deg", 6),
    ("_deg", 3),
    ("_s", 1),
    ("_kt", 1),
    ("_m", 1),
    ("_rpm", 0),
    ("_inhg", 2),
)
OTHER_DECIMALS = 6
# Directions, 0 <= h < 360: a value rounded up to 360 is 0.
DIRECTIONS = ("track_deg", "heading_deg", "compass_deg")
# For the heading indicator; files of other instruments have their names.
LEDGER_FILES = {"heading_indicator": "ledger.csv"}
QUOTED = re.compile('[",\r\n]')
BELIEVED_NAME = re.compile(r"[A-Za-z0-9_-]+")


def decimals_of(name: str) -> int:
    """How many decimals a column is written with, by the unit at the end of its name."""
    return next((decimals for end, decimals in DECIMALS if name.endswith(end)), OTHER_DECIMALS)


def _rounded(name: str, column: NDArray[Any], decimals: int) -> NDArray[np.float64]:
    # Adding 0.0 turns minus zero into zero.
    rounded = np.asarray(np.round(column, decimals) + 0.0, dtype=np.float64)
    if name.endswith(DIRECTIONS):
        rounded[rounded == 360.0] = 0.0
    elif name.endswith("error_deg"):
        rounded[rounded == -180.0] = 180.0
    return rounded


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if QUOTED.search(text) else text


def _cells(name: str, column: NDArray[Any]) -> tuple[str, list[Any]]:
    """A column's printf form and its cells for it."""
    if column.dtype == np.bool_:
        return "%d", column.astype(np.int8).tolist()
    if column.dtype.kind in "US":
        return "%s", [_quoted(guarded(text)) for text in column.astype(np.str_).tolist()]
    if column.dtype.kind in "iu":
        return "%d", column.tolist()
    form = f"%.{decimals_of(name)}f"
    cells = _rounded(name, column, decimals_of(name)).tolist()
    if np.isnan(column).any():
        return "%s", ["" if math.isnan(cell) else form % cell for cell in cells]
    return form, cells


def csv_text(columns: Mapping[str, NDArray[Any]]) -> str:
    r"""Columns as CSV: names first, a row a line, lines ended by \n; nan is empty, booleans are 0 and 1."""
    forms, cells = zip(*(_cells(name, np.asarray(column)) for name, column in columns.items()), strict=True)
    row = ",".join(forms)
    lines = [",".join(columns), *(row % values for values in zip(*cells, strict=True))]
    return "\n".join(lines) + "\n"


def json_text(summary: Mapping[str, Any]) -> str:
    """The summary as strictly valid JSON.

    Raises:
        ValueError: for a nan or an infinity, which JSON does not have.
    """
    return json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _contents(flown: Flown, ensemble: Columns | None, home: Home) -> dict[str, Callable[[], bytes]]:
    """The contents of each file of a flight, made on demand."""
    from lubberline.publish.figures.figure import figure_svg
    from lubberline.publish.reports.report import report_pdf

    def csv(columns: Columns) -> Callable[[], bytes]:
        return lambda: csv_text(columns).encode("utf-8")

    contents = {
        "trace.csv": csv(flown.trace),
        **{LEDGER_FILES.get(name, f"{name}_ledger.csv"): csv(each) for name, each in flown.ledgers.items()},
        "summary.json": lambda: json_text(flown.summary).encode("utf-8"),
        "figure.svg": lambda: figure_svg(flown, suction=home.suction).encode("utf-8"),
        "report.pdf": lambda: report_pdf(flown, home),
    }
    for believed in flown.believed:
        name = believed.misconception_id
        if not BELIEVED_NAME.fullmatch(name):
            raise ValueError(f"'{name}' cannot be part of a file name")
        contents[f"believed_{name}.csv"] = csv(believed.trace)
        contents[f"believed_{name}_ledger.csv"] = csv(believed.ledger)
    if ensemble is not None:
        contents["ensemble.csv"] = csv(ensemble)
    return contents


def _stale(folder: Path, names: Mapping[str, Any]) -> list[Path]:
    """Traces of wrong ideas and ensembles of an earlier flight, which could be mistaken for this one's."""
    headers = (",".join(TRACE_COLUMNS[:-1]), "time_s,earth_deg,", "time_s,error_p")
    stale = []
    for path in [*folder.glob("believed_*.csv"), folder / "ensemble.csv"]:
        if path.name not in names and path.is_file():
            with path.open(encoding="utf-8", errors="replace") as file:
                if file.readline(4096).startswith(headers):
                    stale.append(path)
    return stale


def write_all(
    flown: Flown,
    folder: Path | str,
    *,
    ensemble: Columns | None = None,
    home: Home = NO_HOME,
    progress: Progress | None = None,
) -> list[Path]:
    """Write every file of a flight into a folder, all of them or none.

    The files are made separately and moved in at the end. Traces of wrong ideas and an ensemble
    of an earlier flight are removed; other files are not touched.

    Args:
        flown: what was flown.
        folder: made if it is not there.
        ensemble: shares of an ensemble's errors, for 'ensemble.csv'.
        home: whose paper and unit of suction the report and the figure have.
        progress: called with (done, files) after each file is made.

    Returns:
        The files written.

    Raises:
        InputError: when the folder cannot be written to.
    """
    contents = _contents(flown, ensemble, home)
    return write_together(contents, folder, _stale(Path(folder), contents), progress)
