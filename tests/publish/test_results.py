"""Tables and figures of a class's results."""

import csv
import io
from xml.etree import ElementTree

import pytest

from lubberline.classroom.statistics import item_statistics
from lubberline.publish.figures.results_figures import item_map_svg, marks_strip_svg
from lubberline.publish.reports.results_tables import (
    distractors_csv,
    items_statistics_csv,
    marks_csv,
    totals_csv,
)
from tests.classroom.made import table_of_marks
from tests.publish.made_up_class import ADA, BO, HOSTILE, marks

SVG = "{http://www.w3.org/2000/svg}"
NAMES = {ADA.id: ADA.name, BO.id: BO.name}


def rows_of(made: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(made.decode("utf-8-sig"))))


def test_marks_have_a_row_an_answer() -> None:
    rows = rows_of(marks_csv(marks(), NAMES))
    assert len(rows) == len(marks())
    found = {(row["student"], row["question"]): row for row in rows}
    assert found["Ada", "A2"]["idea"] == "rises-in-the-north"
    assert found["Ada", "A2"]["answer"] == "1"
    assert found["Ada", "A3"]["points"] == "0.5"
    assert found["Ada", "A3"]["corrected"] == "corrected"
    assert found[f"'{HOSTILE}", "B2"]["struck"] == "struck"
    assert found[f"'{HOSTILE}", "B3"]["answer"] == "-"


def test_totals_have_a_row_a_student() -> None:
    paper = [mark for mark in marks() if mark.answer.sitting == "p"]
    ada = next(row for row in rows_of(totals_csv(paper, NAMES)) if row["student"] == "Ada")
    assert (ada["points"], ada["questions"], ada["percent"]) == ("1.5", "3", "50.0")
    assert (ada["A1"], ada["A2"], ada["A3"], ada["B1"]) == ("1", "0", "0.5", "")
    bo = next(row for row in rows_of(totals_csv(paper, NAMES)) if row["student"] != "Ada")
    assert (bo["B1"], bo["B2"], bo["questions"]) == ("0", "struck", "2")


TABLE = [[1, 1, 0, 1], [1, 0, 0, 1], [1, 1, 1, 1], [0, 0, 1, 1], [1, 1, 0, 1]] * 3


def test_statistics_have_a_row_a_question_and_a_row_an_answer() -> None:
    found = item_statistics(table_of_marks(TABLE))
    rows = rows_of(items_statistics_csv(found))
    assert [row["question"] for row in rows] == ["1", "2", "3", "4"]
    assert float(rows[0]["right"]) == pytest.approx(0.8)
    assert rows[3]["in_rest"] == ""
    assert rows[3]["flags"].startswith("Everybody got it right")
    chosen = [row for row in rows_of(distractors_csv(found)) if row["question"] == "1"]
    assert [(row["answer"], row["count"], row["is_key"]) for row in chosen] == [
        ("A", "3", ""),
        ("B", "12", "key"),
        ("C", "0", ""),
    ]
    assert chosen[0]["idea"] == "no-earth-wander"


def drawn(svg: str) -> list[str]:
    root = ElementTree.fromstring(svg)
    return [text.text or "" for text in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("theme", ["light", "dark", "auto"])
def test_the_map_names_every_question_and_says_which_to_look_at(theme: str) -> None:
    svg = item_map_svg(item_statistics(table_of_marks(TABLE)), theme=theme)
    words = drawn(svg)
    assert [word for word in words if word in ("1", "2", "3", "4")] == ["1", "2", "3", "4"]
    assert "To check:" in svg
    assert "nan" not in svg
    # Four shares with intervals; the last question has no correlation, and says so with a dash.
    assert words.count("–") == 1


def test_the_strip_puts_the_best_first_and_marks_who_is_below() -> None:
    rows = [[1, 1, 0, 1], [1, 0, 0, 0], [1, 1, 1, 1]]
    names = {"p0": "Bo", "p1": "<b>=1", "p2": "Cy"}
    svg = marks_strip_svg(table_of_marks(rows), names, mark=0.6)
    words = drawn(svg)
    assert [word for word in words if word in names.values()] == ["Cy", "Bo", "<b>=1"]
    assert "4 of 4, 100%" in words
    assert "1 below 60%" in svg
    assert svg.count('class="alarm"') == 1
    assert "below" not in marks_strip_svg(table_of_marks(rows), names)


def test_nobody_is_no_error() -> None:
    ElementTree.fromstring(item_map_svg(item_statistics([])))
    ElementTree.fromstring(marks_strip_svg([], {}))
    assert rows_of(marks_csv([], {})) == []
    assert rows_of(totals_csv([], {})) == []
