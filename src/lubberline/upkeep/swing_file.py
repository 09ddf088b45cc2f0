"""The pairs of a swing as a CSV text: `magnetic_deg,compass_deg[,radios]`."""

from __future__ import annotations

import math
from pathlib import Path

from lubberline.csvfile import csv_rows
from lubberline.errors import InputError, nearest_of
from lubberline.textfile import text_of
from lubberline.upkeep.swing import Pair

COLUMNS = ("magnetic_deg", "compass_deg", "radios")
RIGHT = "the first row is magnetic_deg,compass_deg or magnetic_deg,compass_deg,radios"
RADIOS = ("on", "off")
GREATEST_PAIRS = 500


def pairs_from_text(source: str, text: str) -> dict[str, list[Pair]]:
    """The pairs of a swing, by 'on' and 'off' for the radios, or under '' where the file does not say.

    Raises:
        InputError: naming line and column, for anything that is not right.
    """
    rows = csv_rows(source, text)
    if not rows:
        raise InputError(source, "the file is empty", RIGHT)
    names = _names(source, *rows[0])
    found: dict[str, list[Pair]] = {}
    for line, row in rows[1:]:
        if len(row) != len(names):
            raise InputError(
                f"{source}, line {line}",
                f"{len(row)} cells where the first row has {len(names)}",
                "write decimals with a point, not a comma",
            )
        cells = dict(zip(names, (cell.strip() for cell in row), strict=True))
        found.setdefault(_radios(source, line, cells.get("radios")), []).append(
            Pair(
                _heading(f"{source}, line {line}, magnetic_deg", cells["magnetic_deg"]),
                _heading(f"{source}, line {line}, compass_deg", cells["compass_deg"]),
            )
        )
    if sum(map(len, found.values())) > GREATEST_PAIRS:
        raise InputError(source, "too many pairs", f"a swing has at most {GREATEST_PAIRS}")
    if not found:
        raise InputError(source, "no pairs", "one row for each heading, under the first row")
    return found


def read_pairs(path: str | Path) -> dict[str, list[Pair]]:
    """As `pairs_from_text`, from a file.

    Raises:
        InputError: when it cannot be read or is not right.
    """
    return pairs_from_text(Path(path).name, text_of(path, "a table of pairs (CSV)"))


def _names(source: str, line: int, row: list[str]) -> list[str]:
    """The columns that the first row names."""
    where, names = f"{source}, line {line}", [cell.strip() for cell in row]
    if len(names) == 1 and ";" in names[0]:
        raise InputError(where, "cells apart by semicolons", "part cells by commas, decimals by a point")
    for name in names:
        if name not in COLUMNS:
            raise InputError(where, f"unknown column '{name[:40]}'", nearest_of(name, [*COLUMNS]))
    if len(set(names)) != len(names) or not {"magnetic_deg", "compass_deg"} <= set(names):
        raise InputError(where, f"columns {', '.join(names)}", RIGHT)
    return names


def _radios(source: str, line: int, cell: str | None) -> str:
    if cell is None:
        return ""
    word = cell.lower()
    if word not in RADIOS:
        raise InputError(f"{source}, line {line}, radios", f"'{cell[:40]}'", "write on or off")
    return word


def _heading(where: str, cell: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if "," in cell and math.isnan(value):
        raise InputError(where, f"'{cell[:40]}' has a comma", "write decimals with a point: 271.5")
    if math.isnan(value):
        raise InputError(where, f"'{cell[:40]}' is no number", "a heading of 0 to 360")
    if not 0.0 <= value <= 360.0:
        raise InputError(where, f"{value:g}", "a heading of 0 to 360")
    return value
