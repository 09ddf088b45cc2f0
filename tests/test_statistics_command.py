"""`lubberline statistics`: files in, tables and figures out; what cannot be read is said with its line."""

import csv
from pathlib import Path

import pytest

from lubberline.cli import main

DEMO = Path(__file__).parents[1] / "demo" / "answers"
PAPER = str(DEMO / "paper.json")


def test_it_writes_tables_that_agree_with_the_answers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["statistics", str(DEMO / "answers.csv"), "--paper", PAPER, "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "14 students, 18 questions" in said
    assert sorted(path.name for path in out.iterdir()) == [
        *("distractors.csv", "marks.csv", "marks.svg", "questions.csv", "questions.svg", "totals.csv"),
    ]
    given = list(csv.DictReader((DEMO / "answers.csv").read_text(encoding="utf-8").splitlines()))
    with (out / "marks.csv").open(encoding="utf-8-sig") as stream:
        marks = {(row["student"], row["question"]): row["answer"] for row in csv.DictReader(stream)}
    assert {(row["student"], f"A{row['question']}"): row["answer"] for row in given} == marks


BAD = "student,question,answer\nAda,1,B\nAda,99,B\nada,2,Z\nAda,1,C\nADA,3,A\n"


def test_bad_rows_are_listed_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "bad.csv").write_text(BAD)
    out = tmp_path / "out"
    asked = ["statistics", str(tmp_path / "bad.csv"), "--paper", PAPER, "--out", str(out)]
    assert main(asked) == 2
    said = capsys.readouterr().err
    for words in ("bad.csv line 3", "bad.csv line 4", "bad.csv line 5", "3 of its rows cannot be used"):
        assert words in said
    assert not out.exists()
    assert main([*asked, "--skip-bad"]) == 0
    with (out / "totals.csv").open(encoding="utf-8-sig") as stream:
        (ada,) = csv.DictReader(stream)
    assert ada["student"] == "Ada"


@pytest.mark.parametrize(
    ("text", "more", "said"),
    [
        ("student,answer\nAda,B\n", [], "there is no column 'question'"),
        ("student,question,answer\n", [], "there is no answer in it"),
        ("student,question,answer\nAda,1,B\n", ["--mark", "0"], "--mark: '0'"),
    ],
)
def test_what_is_wrong_is_said(
    text: str, more: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "answers.csv").write_text(text)
    asked = ["statistics", str(tmp_path / "answers.csv"), "--paper", PAPER, "--out", str(tmp_path / "out")]
    assert main([*asked, *more]) == 2
    assert said in capsys.readouterr().err
