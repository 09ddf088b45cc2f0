"""Tables as CSV: the one place that reads rows and writes them, with one guard against formulas.

A spreadsheet takes a cell that begins with one of a few signs for a formula and may run it (OWASP, CSV
Injection). An apostrophe before it makes it text again; the reader here takes that apostrophe off.
"""

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence

from lubberline.errors import InputError, nearest_of

# The wide forms of the signs are those of East Asian keyboards, which some spreadsheets read as the narrow.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
SEPARATORS = ",;\t"
# What no text holds, besides tab and line ends: control characters, and what is no character.
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_NUMBER = re.compile(r"-?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)


def guarded(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula; numbers and a lone '-' (a blank) stay as they are."""
    bare = cell.lstrip("'")
    if not bare.startswith(FORMULA_SIGNS) or cell == "-" or _NUMBER.fullmatch(cell):
        return cell
    return "'" + cell


def unguarded(cell: str) -> str:
    """A cell as it was before `guarded`."""
    bare = cell.lstrip("'")
    return cell[1:] if cell != bare and bare.startswith(FORMULA_SIGNS) else cell


def _cell(value: object) -> object:
    if isinstance(value, str):
        return guarded(value)
    return "" if isinstance(value, float) and not math.isfinite(value) else value


def csv_text(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    r"""Rows under a head as CSV (RFC 4180, so lines end in \r\n); a number that is none is empty."""
    text = io.StringIO()
    csv.writer(text).writerows([_cell(value) for value in row] for row in (head, *rows))
    return text.getvalue()


def lines_of(text: str) -> list[str]:
    r"""The lines of a text, ended by \r\n, \n or \r and by nothing else, without a byte order mark."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def separator_of(text: str, separators: str) -> str:
    """The one of some separators of which the first line that is not blank has most."""
    first = next((line for line in lines_of(text) if line.strip()), "")
    return max(separators, key=first.count)


def plain_number(text: str) -> float | None:
    """The finite number that a text stands for, or None."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def number_of(text: str, where: str, right: str = "a number such as 45.25") -> float:
    """A finite number written with a decimal point.

    Raises:
        InputError: not such a number; `where` names the place, `right` what would be right.
    """
    value = plain_number(text)
    if value is not None:
        return value
    if "," in text:
        raise InputError(where, f"'{text[:40]}' has a comma", f"a point: {text.replace(',', '.')[:40]}")
    raise InputError(where, f"'{text[:40]}' is no number", right)


def table_of(
    source: str, text: str, needed: Sequence[str], others: Sequence[str] = ()
) -> list[tuple[str, dict[str, str]]]:
    """The rows of a table whose first row names its columns: where each stands, and its cells by column.

    Raises:
        InputError: an empty file, a column unknown, missing or there twice, a row of another length.
    """
    rows = [
        (f"{source}, line {line}", [cell.strip() for cell in row]) for line, row in csv_rows(source, text)
    ]
    right = f"the first row names the columns: {', '.join([*needed, *others])}"
    if not rows:
        raise InputError(source, "the file is empty", right)
    where, names = rows[0]
    if len(names) == 1 and ";" in names[0]:
        raise InputError(where, "cells apart by semicolons", "part cells by commas, decimals by a point")
    for name in names:
        if name not in (*needed, *others):
            raise InputError(where, f"unknown column '{name[:40]}'", nearest_of(name, [*needed, *others]))
    if len(set(names)) != len(names) or not set(needed) <= set(names):
        raise InputError(where, f"columns {', '.join(names)}", right)
    for where, row in rows[1:]:
        if len(row) != len(names):
            wrong = f"{len(row)} cells where the first row has {len(names)}"
            raise InputError(where, wrong, "write decimals with a point, not a comma")
    return [(where, dict(zip(names, row, strict=True))) for where, row in rows[1:]]


def csv_rows(source: str, text: str, separators: str = ",") -> list[tuple[int, list[str]]]:
    r"""The rows of a table, each with the line on which it ends; blank ones are left out.

    Args:
        source: the file's name, for messages.
        text: of the file; \r\n, \n and \r end a line.
        separators: what may stand between cells; of several, the one that the first line has most of.

    Raises:
        InputError: text that is no table, or that holds control characters; names the line.
    """
    text = "\n".join(lines_of(text))
    control = CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        raise InputError(f"{source} line {line}", "a control character", "save the table as plain text")
    reader = csv.reader(io.StringIO(text), delimiter=separator_of(text, separators))
    rows: list[tuple[int, list[str]]] = []
    has_guards = "'" in text
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, [*map(unguarded, row)] if has_guards else row))
    except csv.Error as error:
        right = "a row of the table on each line, quotes in pairs"
        raise InputError(
            f"{source} line {reader.line_num}", f"not a row of a table ({error})", right
        ) from None
    return rows
