"""CSV in one place: the guard against formulas, which comes off again, and tables that are none.

Source of the signs: OWASP, 'CSV Injection' (https://owasp.org/www-community/attacks/CSV_Injection).
"""

import csv
import io
import re
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.csvfile import FORMULA_SIGNS, csv_rows, csv_text, guarded, lines_of, unguarded
from lubberline.errors import InputError
from lubberline.flight.tracks.files import read_fixes
from lubberline.publish.papers.files import items_csv
from lubberline.store.aircraft_log import LogEntry
from lubberline.store.fleet import demo_fleet
from lubberline.upkeep.log import log_from_text
from lubberline.web.aircraft.entries import as_csv, entries_of
from tests.publish.made_up_paper import choice, paper

SOURCES = Path(__file__).resolve().parents[1] / "src"


@pytest.mark.parametrize(
    ("cell", "safe"),
    [
        ("=1+1", "'=1+1"),
        ("+44 20", "'+44 20"),
        ("@x", "'@x"),
        ("\tx", "'\tx"),
        ("\r=1", "'\r=1"),
        ("＝1", "'＝1"),
        ("-2.5", "-2.5"),
        ("-2.5e-3", "-2.5e-3"),
        ("-", "-"),
        ("-x", "'-x"),
        ("-1+cmd", "'-1+cmd"),
        ("-1_0", "'-1_0"),
        ("'=1", "''=1"),
        ("'tis", "'tis"),
        ("Ada", "Ada"),
        ("", ""),
    ],
)
def test_no_cell_is_a_formula(cell: str, safe: str) -> None:
    assert guarded(cell) == safe
    assert unguarded(safe) == cell


@given(st.text(st.sampled_from("'=+-@\t＝1a. "), max_size=6))
def test_the_guard_comes_off_again(cell: str) -> None:
    safe = guarded(cell)
    assert unguarded(safe) == cell
    assert not safe.startswith(FORMULA_SIGNS) or safe == cell
    if cell.strip():
        assert csv_rows("x", csv_text(["a"], [[cell]]))[1:] == [(2, [cell])]


def test_numbers_stay_numbers_and_what_is_none_is_empty() -> None:
    assert csv_text(["a", "b"], [[-2.5, float("nan")], [7, float("-inf")]]) == "a,b\r\n-2.5,\r\n7,\r\n"


def test_only_one_module_reads_and_writes_csv() -> None:
    """A second writer would have a guard of its own, or none."""
    imported = re.compile(r"^\s*(?:import|from) csv\b", re.MULTILINE)
    found = [path.name for path in SOURCES.rglob("*.py") if imported.search(path.read_text("utf-8"))]
    assert found == ["csvfile.py"]


def test_the_questions_of_a_paper_hold_no_formula() -> None:
    item = msgspec.structs.replace(choice(), stem='=HYPERLINK("http://x","y")')
    text = items_csv([paper(item)]).decode("utf-8-sig")
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert '\'=HYPERLINK("http://x","y")' in cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]


def test_a_log_that_goes_out_comes_back_as_it_was_typed() -> None:
    typed = {"time_utc": "2026-01-01T10:00Z", "indicated": "004", "compass": "002", "set_at": "09:30Z"}
    typed |= {"place": "-47.5, 8", "note": "=1+1"}
    craft = demo_fleet()[0]
    there = entries_of(
        craft, [LogEntry(id="e", aircraft=craft.name, added_utc="", typed=typed, understood={})]
    )[-1:]
    back = log_from_text("log.csv", as_csv(there).decode()).checks[0]
    assert back.typed == typed


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_lines_end_as_they_do_anywhere(ending: str) -> None:
    text = ending.join(["a,b", '1,"2, and more"', "", "3,4", ""])
    assert csv_rows("x", text) == [(1, ["a", "b"]), (2, ["1", "2, and more"]), (4, ["3", "4"])]
    assert len(lines_of(text)) == 5


@pytest.mark.parametrize("wrong", ["a\0b", "a\nb\x1b", 'a\n"' + "x" * 200_000, "a\n\ud800"])
def test_what_is_no_table_is_named_by_its_line(wrong: str) -> None:
    with pytest.raises(InputError, match=r"x line \d"):
        csv_rows("x", wrong)


def test_a_track_may_end_its_lines_as_old_machines_did() -> None:
    rows = ["time_utc,latitude_deg,longitude_deg,altitude_m"]
    rows += [f"2024-05-01T10:00:{k:02d}Z,47.{k:04d},8,500" for k in range(10)]
    assert len(read_fixes("x.csv", "\r".join(rows).encode())) == 10
