"""Copies made before the tables are carried forward, and files that are nobody else's."""

import logging
import stat
import sys
from pathlib import Path

import pytest
from sqlalchemy import text

from lubberline.errors import InputError
from lubberline.store import migrations
from lubberline.store.database import copies, engines
from lubberline.store.database.engines import engine_for
from lubberline.store.migrations import newest
from lubberline.store.school import School, open_school
from tests.store.test_migrations import fill_first


def is_private(path: Path) -> bool:
    return sys.platform == "win32" or not stat.S_IMODE(path.stat().st_mode) & 0o077


def step_of(path: Path) -> str:
    engine = engine_for(f"sqlite:///{path}")
    with engine.connect() as connection:
        found = str(connection.execute(text("select version_num from alembic_version")).scalar_one())
    engine.dispose()
    return found


def test_before_a_file_is_carried_forward_a_copy_is_kept_and_named(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "school.sqlite3"
    fill_first(f"sqlite:///{path}")
    earlier = tmp_path / f"school.before-step-{newest()}.sqlite3"
    earlier.write_text("an earlier one")
    school = open_school(f"sqlite:///{path}")
    kept = tmp_path / f"school.before-step-{newest()}-2.sqlite3"
    assert set(school.copies.kept()) == {earlier, kept}
    assert str(kept) in caplog.text
    assert school.copies.holding("s") == (kept,) or earlier in school.copies.holding("s")
    assert school.copies.holding("nobody-of-this-id") == ()
    school.close()
    assert earlier.read_text() == "an earlier one"
    assert is_private(kept)
    assert step_of(kept) == "0001"
    assert step_of(path) == newest()
    assert not [one for one in tmp_path.iterdir() if ".part" in one.name]
    caplog.clear()
    open_school(f"sqlite:///{path}").close()
    assert caplog.text == "", "what is at the newest step is only opened"


def test_what_is_still_in_the_write_ahead_file_is_in_the_copy(tmp_path: Path) -> None:
    path = tmp_path / "school.sqlite3"
    engine = engine_for(f"sqlite:///{path}")
    migrations.migrate(engine, "0001")
    with engine.begin() as connection:
        connection.execute(text("insert into groups (id, number, title) values ('g', 1, 'Spring')"))
    copies.copy_file(path, tmp_path / "copy.sqlite3")
    engine.dispose()
    school = open_school(f"sqlite:///{tmp_path / 'copy.sqlite3'}")
    assert [one.title for one in school.people.groups()] == ["Spring"]
    school.close()


def test_without_room_for_a_copy_nothing_is_carried_forward(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "school.sqlite3"
    fill_first(f"sqlite:///{path}")
    nowhere = tmp_path / "none" / "copy.sqlite3"
    monkeypatch.setattr(copies.Copies, "new_path", lambda *_: nowhere)
    with pytest.raises(InputError, match="the copy cannot be written"):
        open_school(f"sqlite:///{path}")
    assert step_of(path) == "0001"


def test_a_step_that_fails_leaves_no_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "school.sqlite3"
    fill_first(f"sqlite:///{path}")

    def broken(*_: object) -> None:
        assert [one for one in tmp_path.iterdir() if "before-step" in one.name]
        raise RuntimeError("half-way")

    monkeypatch.setattr(migrations, "_take_steps", broken)
    with pytest.raises(RuntimeError, match="half-way"):
        open_school(f"sqlite:///{path}")
    assert not [one for one in tmp_path.iterdir() if "before-step" in one.name]


def test_of_postgresql_it_is_said_that_a_copy_is_its_owners_to_make(
    emptied, caplog: pytest.LogCaptureFixture
) -> None:
    address = emptied()
    fill_first(address)
    school = open_school(address)
    assert school.copies.kept() == ()
    school.close()
    (said,) = [record.getMessage() for record in caplog.records if record.levelno == logging.WARNING]
    assert "pg_dump" in said
    assert "from step 0001" in said


@pytest.fixture
def readable(tmp_path: Path) -> Path:
    """Records that other users of the machine could read, their write-ahead file, too."""
    path = tmp_path / "school.sqlite3"
    school = open_school(f"sqlite:///{path}")
    school.people.add_group("Spring")
    school.close()
    for ending in ("", "-wal", "-shm"):
        beside = path.with_name(path.name + ending)
        beside.touch()
        beside.chmod(0o644)
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="files have no owners' modes there")
def test_a_file_that_others_could_read_is_tightened_and_it_is_said_once(
    readable: Path, caplog: pytest.LogCaptureFixture
) -> None:
    school = open_school(f"sqlite:///{readable}")
    school.people.add_group("Autumn")
    there = [one for one in readable.parent.iterdir() if one.name.startswith(readable.name)]
    assert len(there) == 3
    assert all(is_private(one) for one in there)
    school.close()
    assert caplog.text.count("could be read by other users") == 1


@pytest.mark.skipif(sys.platform == "win32", reason="files have no owners' modes there")
@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077])
def test_new_files_are_their_owners_under_any_mask(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mask: int
) -> None:
    monkeypatch.delenv("LUBBERLINE_DATABASE", raising=False)
    monkeypatch.setattr(engines, "data_folder", lambda: tmp_path / "data")
    (tmp_path / "data").mkdir(mode=0o755)
    before = engines.os.umask(mask)
    try:
        school = open_school()
        school.people.add_group("Spring")
        written = school.export_csv(tmp_path / "out")
        school.backup(tmp_path / "school.backup")
        there = [*(tmp_path / "data").iterdir(), *written, tmp_path / "school.backup"]
        folders = [tmp_path / "data", tmp_path / "out"]
        assert [str(one) for one in [*there, *folders] if not is_private(one)] == []
        school.close()
    finally:
        engines.os.umask(before)


def test_records_in_memory_have_no_copies() -> None:
    school: School = open_school("memory")
    assert school.copies.kept() == ()
    assert school.copies.new_path("step-0009", "sqlite3") is None
    school.close()


def test_what_is_left_of_a_copy_that_was_never_whole_holds_people_too(tmp_path: Path) -> None:
    """The process was killed while it wrote: nobody knows of the file, and whoever is deleted is in it."""
    school = open_school(f"sqlite:///{tmp_path / 'school.sqlite3'}")
    student = school.people.add_student(school.people.add_group("Spring").id, "Theophania Example")
    school.backup(tmp_path / "whole.backup")
    kept = school.restore(tmp_path / "whole.backup")
    assert kept is not None
    left = kept.rename(kept.with_name(f".{kept.name}.0123abcd.part"))
    assert school.copies.kept() == ()
    assert school.copies.holding(student.id) == (left,)
    assert school.copies.holding("nobody-of-this-id") == ()
    left.write_bytes(left.read_bytes()[:-40])
    assert school.copies.holding(student.id) == (left,)
    school.close()
