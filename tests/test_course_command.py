"""`lubberline course`: a class's records as files."""

import csv
from pathlib import Path

import pytest

from lubberline.classroom.records import Answer, Asked
from lubberline.cli import main
from lubberline.store.school import open_school
from tests.classroom.made import CHOICE, DIAL


@pytest.fixture
def school_of_two(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Records with a class of two, one of whom has sat a paper."""
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'school.db'}")
    school = open_school()
    group = school.people.add_group("Spring")
    school.people.add_group("Empty")
    ada = school.people.add_student(group.id, "Ada")
    school.people.add_student(group.id, "../=Bo")
    sitting = school.sittings.add(
        group.id, "paper", "Mid-term", (Asked("A1", CHOICE, "A"), Asked("A2", DIAL, "A")), on_paper=True
    )
    school.sittings.add_place(sitting.id, ada.id, "A")
    school.answers.put_all(
        [Answer(sitting.id, ada.id, "A1", chosen=1), Answer(sitting.id, ada.id, "A2", value=1.0)]
    )
    school.close()
    return tmp_path


def test_everybody_gets_a_record(school_of_two: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = school_of_two / "out"
    assert main(["course", "spring", "--out", str(out), "--readiness"]) == 0
    names = sorted(path.name for path in out.iterdir())
    assert len([name for name in names if name.endswith(".pdf")]) == 2
    assert names[-2:] == ["readiness.csv", "records.csv"]
    assert {name[3:] for name in names[:2]} == {"ada.pdf", "bo.pdf"}
    with (out / "records.csv").open(encoding="utf-8-sig") as stream:
        whole = next(row for row in csv.DictReader(stream) if row["topic"] == "all")
    assert (whole["student"], whole["points"], whole["questions"]) == ("Ada", "1", "2")
    with (out / "readiness.csv").open(encoding="utf-8-sig") as stream:
        rows = {row["student"]: row for row in csv.DictReader(stream)}
    assert rows["Ada"]["answers"] == "2"
    assert 0.0 < float(rows["Ada"]["low"]) <= float(rows["Ada"]["high"]) < 1.0
    assert "The instructor decides" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("title", "said"), [("Sprint", "did you mean 'Spring'?"), ("Empty", "'Empty' has no students")]
)
def test_what_is_wrong_is_said(
    title: str, said: str, school_of_two: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["course", title, "--out", str(school_of_two / "out")]) == 2
    assert said in capsys.readouterr().err
