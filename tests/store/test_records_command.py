"""`lubberline records` and the how-to that promises it."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.store.database.engines import engine_for
from lubberline.store.migrations import stands_at
from lubberline.store.school import open_school
from tests.store.made import taught
from tests.store.test_migrations import fill_first

STORE = Path(__file__).parents[2] / "src" / "lubberline" / "store"
HOW_TO = Path(__file__).parents[2] / "docs" / "instructors" / "records.md"
EXAMPLES = HOW_TO.read_text(encoding="utf-8").split("```python\n")[1:]
COMMANDS = re.findall(r"^\$ (lubberline .*)$", HOW_TO.read_text(encoding="utf-8"), flags=re.MULTILINE)


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    """Records of the test's own, filled."""
    address = f"sqlite:///{tmp_path / 'own.sqlite3'}"
    monkeypatch.setenv("LUBBERLINE_DATABASE", address)
    monkeypatch.chdir(tmp_path)
    school = open_school()
    group = taught(school).paper.group
    school.people.add_student(group, "Student Zero", "99")
    school.close()
    return address


def test_the_commands_of_the_how_to_run_in_order(own: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert len(COMMANDS) == 6
    for command in COMMANDS:
        assert main(shlex.split(command)[1:]) == 0, command
    said = capsys.readouterr().out
    assert "1 class, 4 students, 1 lesson, 1 paper" in said
    assert "Backup of the earlier records: " in said
    assert "Student Zero of Spring: 1 student." in said
    school = open_school()
    assert len(school.people.students(school.people.groups()[0].id)) == 3
    school.close()
    assert (Path("out") / "answers.csv").is_file()


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_python_of_the_how_to_runs(example: str) -> None:
    exec(compile(example.split("```")[0], "docs/instructors/records.md", "exec"), {})


def test_the_messages_that_the_how_to_lists_are_the_programs() -> None:
    """What the database itself says is not the program's."""
    listed = re.findall(r"^\| (`.*`) \|", HOW_TO.read_text(encoding="utf-8"), flags=re.MULTILINE)
    said = " ".join(path.read_text(encoding="utf-8") for path in STORE.rglob("*.py"))
    for message in re.findall("`([^`]*)`", " ".join(listed)):
        assert message in said or message.startswith("permission denied"), message


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        ("restore nothing", "nothing"),
        ("restore nothing --yes", "nothing"),
        ("forget Nobody", "there is no 'Nobody'"),
        ("backup no/such/folder", "folder you can write to"),
        ("export mine", "it is not empty"),
    ],
)
def test_what_cannot_be_done_is_said(
    own: str, capsys: pytest.CaptureFixture[str], words: str, wrong: str
) -> None:
    Path("mine").mkdir()
    Path("mine", "students.csv").write_text("mine")
    assert main(["records", *words.split()]) == 2
    said = capsys.readouterr().err
    assert wrong in said
    assert "Traceback" not in said


def test_of_two_alike_none_is_deleted(own: str, capsys: pytest.CaptureFixture[str]) -> None:
    school = open_school()
    other = school.people.add_group("Autumn")
    school.people.add_student(other.id, "Student Zero")
    school.close()
    assert main(["records", "forget", "Student Zero"]) == 2
    assert "2 students" in capsys.readouterr().err
    assert main(["records", "forget", "Student Zero", "--class", "Autumn", "--yes"]) == 0


def names_in(address: str) -> list[str]:
    school = open_school(address)
    found = [one.name for group in school.people.groups() for one in school.people.students(group.id)]
    school.close()
    return found


def test_forgetting_shows_what_goes_and_asks(
    own: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """'forget 1' used to delete student number 1 at once."""
    before = names_in(own)
    assert main(["records", "forget", "1"]) == 2
    said = capsys.readouterr()
    assert "Student 1 of Spring: 1 student." in said.out
    assert "add --yes" in said.err
    assert names_in(own) == before
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    for typed, left in (("", before), ("n", before), ("y", [one for one in before if one != "Student 1"])):
        monkeypatch.setattr("builtins.input", lambda _, typed=typed: typed)
        assert main(["records", "forget", "1"]) == 0
        assert names_in(own) == left
    assert "In the bin for 30 days" in capsys.readouterr().out
    assert main(["records", "bin"]) == 0
    listed = capsys.readouterr().out
    assert "student: Student 1. 1 student." in listed
    assert "30 days left" in listed
    assert main(["records", "bring-back", listed.split()[0]]) == 0
    assert names_in(own) == before
    assert main(["records", "bring-back", listed.split()[0]]) == 2
    assert main(["records", "bin"]) == 0
    assert "The bin is empty" in capsys.readouterr().out


def test_for_good_names_the_programs_own_copies(
    own: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    holding, other = (tmp_path / f"own.before-step-000{number}.sqlite3" for number in (1, 2))
    shutil.copy(tmp_path / "own.sqlite3", holding)
    assert main(["records", "forget", "Student Zero", "--yes"]) == 0
    shutil.copy(tmp_path / "own.sqlite3", other)
    capsys.readouterr()
    assert main(["records", "forget", "Student Zero", "--yes"]) == 2
    assert "already in the bin: add --for-good" in capsys.readouterr().err
    # Not without being asked: what goes and which copies hold them is shown first.
    assert main(["records", "forget", "Student Zero", "--for-good"]) == 2
    said = capsys.readouterr().out
    assert str(holding) in said
    assert str(other) in said, "the bin of that copy holds them"
    assert main(["records", "forget", "Student Zero", "--for-good", "--yes", "--copies"]) == 0
    assert not holding.exists()
    assert not other.exists()
    assert b"Student Zero" not in b"".join(path.read_bytes() for path in tmp_path.iterdir() if path.is_file())
    assert sorted(path.name for path in tmp_path.iterdir() if path.suffix == ".backup") == []


def test_a_restore_shows_what_goes_and_keeps_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where there is no class there may be an aircraft's log, or a setting."""
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'own.sqlite3'}")
    monkeypatch.chdir(tmp_path)
    other = open_school("memory")
    taught(other)
    other.backup("other.backup")
    other.close()
    school = open_school()
    school.log.add("ZZ-OAK", {"indicated": "270"}, {})
    school.settings.put("school_name", "Field school")
    school.close()
    assert main(["records", "restore", "other.backup"]) == 2
    said = capsys.readouterr()
    assert "1 aircraft, 1 log entry, 1 setting" in said.err
    assert "--yes" in said.err
    assert "1 class, 3 students, 1 lesson, 1 paper" in said.out
    assert main(["records", "restore", "other.backup", "--yes"]) == 0
    said = capsys.readouterr()
    school = open_school()
    assert len(school.people.groups()) == 1
    assert school.log.aircraft_names() == ()
    (kept,) = school.copies.kept()
    assert str(kept) in said.out
    school.restore(kept)
    assert school.log.aircraft_names() == ("ZZ-OAK",)
    assert school.settings.get("school_name") == "Field school"
    school.close()


def test_into_empty_records_a_backup_goes_without_asking(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'own.sqlite3'}")
    other = open_school("memory")
    other.people.add_group("Spring")
    other.backup(tmp_path / "other.backup")
    other.close()
    assert main(["records", "restore", str(tmp_path / "other.backup")]) == 0
    school = open_school()
    assert [one.title for one in school.people.groups()] == ["Spring"]
    assert school.copies.kept() == ()
    school.close()


def test_where_is_a_mere_look(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "school.sqlite3"
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{path}")
    assert main(["records", "where"]) == 0
    assert "no records yet" in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == []
    fill_first(f"sqlite:///{path}")
    before = path.read_bytes()
    assert main(["records", "where"]) == 0
    said = capsys.readouterr().out
    assert "1 class, 2 students, 2 papers, 1 answer" in said
    assert "step 0001" in said
    assert "lubberline open" in said
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == [path.name]
    path.write_bytes(b"no database at all" * 100)
    assert main(["records", "where"]) == 2


def test_where_looks_at_postgresql_as_well(
    emptied, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    address = emptied()
    monkeypatch.setenv("LUBBERLINE_DATABASE", address)
    assert main(["records", "where"]) == 0
    fill_first(address)
    assert main(["records", "where"]) == 0
    assert "2 papers" in capsys.readouterr().out
    engine = engine_for(address)
    with engine.connect() as connection:
        assert stands_at(connection) == "0001"
    engine.dispose()
