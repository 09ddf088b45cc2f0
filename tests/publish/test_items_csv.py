"""The table of items, read back with Python's own csv reader."""

import csv
import io
import json

import msgspec

from lubberline.publish.papers.files import items_csv
from lubberline.publish.papers.qti import identifier_of
from lubberline.questions.item import LETTERS

from .made_up_paper import choice, number, paper, statement


def read(*papers) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(items_csv(papers).decode("utf-8-sig"))))


def test_a_row_holds_the_whole_item():
    item = choice(2)
    (row,) = read(paper(item))
    assert (row["form"], row["number"], row["identifier"]) == ("A", "1", identifier_of(item))
    for place, option in enumerate(item.options):
        letter = LETTERS[place]
        assert row[f"option_{letter}"] == option.text
        assert row[f"idea_{letter}"] == option.misconception
        assert row[f"feedback_{letter}"] == option.feedback
    assert row["key"] == "C"
    assert row["idea_C"] == ""
    assert json.loads(row["drawn"]) == item.drawn
    for name in ("model", "topic", "level", "kind", "stem", "reason", "source"):
        assert row[name] == getattr(item, name)


def test_numbers_and_statements_keep_their_columns():
    rows = read(paper(number(-0.00002, 0.5), statement()), paper(choice(1, options=5), form="B"))
    assert [row["form"] for row in rows] == ["A", "A", "B"]
    assert (rows[0]["key"], rows[0]["answer"], rows[0]["tolerance"]) == ("", "-0.00002", "0.5")
    assert [slip["idea"] for slip in json.loads(rows[0]["slips"])] == ["hour-for-half", "sign"]
    assert rows[0]["codes"] == "HI 3.2"
    assert (rows[1]["option_B"], rows[1]["option_C"], rows[1]["key"]) == ("False", "", "B")
    assert rows[1]["jurisdiction"] == "XX"
    assert rows[2]["option_E"] == "falls by 5.5°"
    assert None not in rows[0]


def test_quotes_commas_and_lines_survive():
    text = 'He said "fall",\nthen left; 5° −3'
    (row,) = read(paper(msgspec.structs.replace(choice(), stem=text)))
    assert row["stem"] == text
