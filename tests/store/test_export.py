"""The export: every row, no formula, no secret, whole numbers and texts."""

import csv
import json
from pathlib import Path

import pytest

from lubberline.classroom.records import Answer
from lubberline.csvfile import FORMULA_SIGNS
from lubberline.errors import InputError
from lubberline.store import people
from lubberline.store.school import School
from tests.store.made import taught
from tests.store.test_backup import everything, filled


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_the_export_has_every_row_and_no_formula_or_secret(school: School, tmp_path: Path) -> None:
    class_ = taught(filled(school))
    school.people.add_student(class_.paper.group, '=HYPERLINK("x")', "@1")
    school.sittings.enter(class_.lesson.id, "-Bo", "", "the digest")
    written = school.export_csv(tmp_path / "out")
    tables_read = {path.stem: read(path) for path in written}
    asked = sum(len(sitting.asked) for sitting in school.sittings.listing())
    assert len(tables_read.pop("questions")) == asked
    found = everything(school)
    assert {name: len(rows) for name, rows in tables_read.items()} == {
        name: len(rows) for name, rows in found.items() if name not in ("settings", "bin")
    }
    cells = [cell for rows in tables_read.values() for row in rows for cell in row.values()]
    assert not [cell for cell in cells if cell.startswith(("=", "@"))]
    assert "'-Bo" in cells
    assert "the digest" not in cells
    names = {row["name"] for row in tables_read["students"]}
    assert '\'=HYPERLINK("x")' in names
    assert "the digest" not in "".join(path.read_text(encoding="utf-8") for path in written)


def test_the_questions_and_names_can_be_read_by_a_person(school: School, tmp_path: Path) -> None:
    class_ = taught(filled(school))
    school.export_csv(tmp_path / "out")
    first = class_.paper.asked[0]
    (row,) = [
        row
        for row in read(tmp_path / "out" / "questions.csv")
        if (row["sitting"], row["key"]) == (class_.paper.id, first.key)
    ]
    assert row["stem"] == first.item.stem
    assert row["right"] == "ABCDE"[first.item.key]
    assert f"{row['right']}: {first.item.options[first.item.key].text}" in row["options"].split(" | ")
    assert json.loads(row["drawn"]) == first.item.drawn
    assert {row["student_name"] for row in read(tmp_path / "out" / "answers.csv")} == {
        f"Student {k}" for k in range(3)
    }


def test_what_a_spreadsheet_would_compute_is_text(school: School, tmp_path: Path) -> None:
    """The signs are those of OWASP's page on CSV injection, from memory."""
    entry = school.log.add("ZZ-OAK", {}, {})
    for sign in FORMULA_SIGNS:
        school.log.correct(entry.id, "N. N.", f"{sign}1+1", {}, {})
    school.export_csv(tmp_path / "out")
    assert [row["why"] for row in read(tmp_path / "out" / "log_changes.csv")] == [
        f"'{sign}1+1" for sign in FORMULA_SIGNS
    ]


def test_numbers_and_ids_stay_as_they_are(school: School, tmp_path: Path) -> None:
    class_ = taught(school)
    ada = class_.students[0]
    school.answers.record(Answer(class_.paper.id, ada.id, "A2", value=-6.5, sent="a"))
    assert all(people.new_id().isalnum() for _ in range(200))
    school.export_csv(tmp_path / "out")
    (row,) = read(tmp_path / "out" / "answers.csv")
    assert (row["value"], row["chosen"], row["student"]) == ("-6.5", "-1", ada.id)


def test_a_folder_that_holds_something_is_left_as_it_is(school: School, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "photograph.jpg").write_text("mine")
    with pytest.raises(InputError, match="it is not empty"):
        school.export_csv(folder)
    assert [path.name for path in folder.iterdir()] == ["photograph.jpg"]
    with pytest.raises(InputError, match="Not a directory"):
        school.export_csv(folder / "photograph.jpg" / "out")


@pytest.mark.parametrize("there", [False, True])
def test_an_export_that_breaks_off_leaves_nothing(
    school: School, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    folder = tmp_path / "deep" / "out"
    if there:
        folder.mkdir(parents=True)
    rename, left = Path.rename, [4]

    def breaks(path: Path, target: Path) -> Path:
        left[0] -= 1
        if not left[0]:
            raise OSError(28, "No space left on device")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", breaks)
    with pytest.raises(InputError, match="No space left"):
        school.export_csv(folder)
    assert folder.exists() == there
    assert not there or list(folder.iterdir()) == []
    monkeypatch.undo()
    assert len(school.export_csv(folder)) == len(list(folder.iterdir())) > 4
