"""`lubberline ask`: what it writes, says and refuses."""

import hashlib
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.publish.papers.files import contents, write_papers

from .made_up_paper import number, paper, whole

BLUEPRINT = """title = "A short paper"
forms = ["A", "B"]
[[topic]]
name = "wander"
apply = 2
"""


@pytest.fixture(autouse=True)
def no_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever runs the tests may have a home."""
    monkeypatch.setenv("LUBBERLINE_DATABASE", "memory")


@pytest.fixture
def blueprint(tmp_path: Path) -> Path:
    path = tmp_path / "short.toml"
    path.write_text(BLUEPRINT)
    return path


def ask(blueprint: Path, out: Path, *more: str) -> int:
    return main(["ask", "--blueprint", str(blueprint), "--seed", "3", "--out", str(out), *more])


def digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def test_it_writes_every_file_and_says_what(blueprint, tmp_path, capsys):
    assert ask(blueprint, tmp_path / "out", "--forms", "A,C", "--large-print", "--worksheet") == 0
    names = {f"{part}_{form}.pdf" for part in ("paper", "answer_sheet", "key") for form in "AC"}
    names |= {f"{part}_{form}_large_print.pdf" for part in ("paper", "answer_sheet") for form in "AC"}
    names |= {f"qti{version}_{form}.zip" for version in ("30", "21") for form in "AC"}
    names |= {"items.csv", "worksheet.pdf", "worksheet_solved.pdf"}
    assert {path.name for path in (tmp_path / "out").iterdir()} == names
    assert {path.name for path in tmp_path.iterdir()} == {"out", "short.toml"}
    told = capsys.readouterr().out
    assert "A short paper, seed 3, set at Marrowfen (47.2 N, 8.9 E): 2 questions in each paper" in told
    assert all(name in told for name in names)
    assert "keep them away from candidates" in told


def test_the_same_command_gives_the_same_bytes(blueprint, tmp_path):
    ask(blueprint, tmp_path / "one")
    ask(blueprint, tmp_path / "two")
    assert digests(tmp_path / "one") == digests(tmp_path / "two")
    assert digests(tmp_path / "one")["key_A.pdf"] != digests(tmp_path / "one")["key_B.pdf"]


def test_papers_of_an_earlier_set_are_named(blueprint, tmp_path, capsys):
    out = tmp_path / "out"
    ask(blueprint, out)
    (out / "paper_notes.txt").write_text("mine")
    capsys.readouterr()
    ask(blueprint, out, "--forms", "A")
    told = capsys.readouterr().out
    assert "Note: key_B.pdf is from an earlier set" in told
    assert "paper_notes" not in told
    assert (out / "key_B.pdf").exists()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--jurisdiction", "XX"], "jurisdiction: there are no rules of 'XX'"),
        (["--forms", "A,A"], "forms"),
        (["--forms", ""], "forms"),
        (["--forms", "A,B/.."], "forms"),
    ],
)
def test_bad_orders_write_nothing(blueprint, tmp_path, capsys, more, words):
    assert ask(blueprint, tmp_path / "out", *more) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_blueprint_that_is_not_there_is_said(tmp_path, capsys):
    assert ask(tmp_path / "none.toml", tmp_path / "out") == 2
    assert "none.toml: cannot be read (No such file or directory)" in capsys.readouterr().err


def test_a_folder_that_is_a_file_is_refused(blueprint, tmp_path, capsys):
    (tmp_path / "out").write_text("mine")
    assert ask(blueprint, tmp_path / "out") == 2
    assert "is a file; name a folder to write to" in capsys.readouterr().err
    assert (tmp_path / "out").read_text() == "mine"


def test_nothing_is_left_when_one_file_cannot_be_made(tmp_path):
    from lubberline.errors import InputError

    bad = paper(*whole(4).items, whole(4).items[0])
    with pytest.raises(InputError, match="question 5: is the same as question 1"):
        write_papers([bad], tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_names_of_files_come_from_forms_alone():
    names = set(contents([paper(number(), form="B2", title="../../etc: a title")]))
    assert names == {
        "paper_B2.pdf",
        "answer_sheet_B2.pdf",
        "key_B2.pdf",
        "qti30_B2.zip",
        "qti21_B2.zip",
        "items.csv",
    }
